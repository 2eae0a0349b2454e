"""Write the ledger into an edition that goes anyway, rather than whole into a new file.

Between two loads most of a large ledger stays as it is: DuckDB writes new blocks and
leaves the others. So a copy of some loads ago is brought up to date by the pieces that
differ, and only these have to reach the disk.
"""

import errno
import os
import struct
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

from etl.disk import force_to_disk

if sys.platform != "win32":
    import fcntl

OPEN_FILES = Path("/proc/self/fd")
# DuckDB's block. A larger piece has more in it that did not change.
PIECE_BYTES = 256 * 1024
WORKERS = 2


def take_spare(spare: Path, source: Path, target: Path) -> bool:
    """Make an edition that goes into a copy of `source`, under the name `target`.

    Returns False, with nothing done, where that could change what somebody holds: a
    reader has it open, it has a second name (a backup made of links), or the system
    cannot tell. A reader who opens it meanwhile finds its name gone afterwards
    (queries.edition_file), since that goes before the first byte is written. Raises
    OSError where the disk is full; `target` is then a part of a copy.
    """
    descriptor = _hold(spare)
    if descriptor is None:
        return False
    try:
        spare.replace(target)
        # Before a byte is written: after a power cut the old name would else stand for
        # a mixture.
        force_to_disk(target.parent)
        _write_differences(source, descriptor)
    except OSError as error:
        # Reading and writing by descriptor do not say which file they failed on.
        raise OSError(error.errno, error.strerror, str(target)) from error
    finally:
        os.close(descriptor)
    return True


def _hold(path: Path) -> int | None:
    """Open a file that nobody else holds, locked against all others; None without."""
    # A lock of the open file, not of the process as DuckDB's: closing the file here
    # would let go of DuckDB's own lock in this process, so it must have none.
    if sys.platform == "win32" or not hasattr(fcntl, "F_OFD_SETLK"):
        return None
    if _is_open_here(path):
        return None
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_NOFOLLOW)
    except OSError:
        return None
    try:
        if os.fstat(descriptor).st_nlink == 1:
            whole_file = struct.pack("hhqqi", fcntl.F_WRLCK, os.SEEK_SET, 0, 0, 0)
            fcntl.fcntl(descriptor, fcntl.F_OFD_SETLK, whole_file)
            return descriptor
    except OSError:  # A reader's lock, or a file system without any.
        pass
    os.close(descriptor)
    return None


def _is_open_here(path: Path) -> bool:
    """Say whether this process has the file open, or could not know."""
    try:
        ours = path.stat()
        for entry in OPEN_FILES.iterdir():
            try:
                if os.path.samestat(entry.stat(), ours):
                    return True
            except FileNotFoundError:  # The folder's own, closed by now.
                continue
    except OSError:
        return True
    return False


def _write_differences(source: Path, descriptor: int) -> None:
    with source.open("rb") as file, ThreadPoolExecutor(WORKERS) as pool:
        size = os.fstat(file.fileno()).st_size
        os.ftruncate(descriptor, size)
        write = partial(_write_share, file.fileno(), descriptor, size)
        for _ in pool.map(write, range(WORKERS)):
            pass


def _write_share(source: int, target: int, size: int, first: int) -> None:
    """Write every so many-th piece: given out singly they take twice as long."""
    for start in range(first * PIECE_BYTES, size, WORKERS * PIECE_BYTES):
        wanted = _read(source, start, min(PIECE_BYTES, size - start))
        if os.pread(target, len(wanted), start) != wanted:
            _write(target, wanted, start)


def _write(target: int, wanted: bytes, start: int) -> None:
    while wanted:
        written = os.pwrite(target, wanted, start)
        wanted, start = wanted[written:], start + written


def _read(source: int, start: int, count: int) -> bytes:
    """Return just so many bytes: a system may give fewer at a time."""
    found = b""
    while len(found) < count:
        more = os.pread(source, count - len(found), start + len(found))
        if not more:
            raise OSError(errno.EIO, "the ledger became shorter while it was copied")
        found += more
    return found
