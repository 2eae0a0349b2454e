"""Tell whether another program has a file open for writing, as far as can be seen."""

import errno
import signal
import sys
from pathlib import Path

if sys.platform == "linux":
    import fcntl


def is_being_written(path: Path) -> bool:
    """Say whether a file is seen to be open for writing; False where nobody can tell.

    On Linux the system grants a read lease only on a file that nobody has open for
    writing (fcntl(2), F_SETLEASE); it can be asked for one's own files on a local
    disk. Elsewhere only the settle time tells.
    """
    if sys.platform != "linux":
        return False
    try:
        with path.open("rb") as file:
            # A writer that comes in the next instant makes the system send a signal.
            # Its default would end this process; this one is ignored by default.
            fcntl.fcntl(file, fcntl.F_SETSIG, signal.SIGURG)
            fcntl.fcntl(file, fcntl.F_SETLEASE, fcntl.F_RDLCK)
            fcntl.fcntl(file, fcntl.F_SETLEASE, fcntl.F_UNLCK)
    except OSError as error:
        return error.errno == errno.EAGAIN
    return False
