"""Standard output, and what the system refuses: before anything else is imported."""

import errno
import io
import os
import sys


def write_any_text() -> None:
    """Let standard output take what a log may hold, whatever the system's code page.

    A file or a pipe gets UTF-8, as every file that firmset writes; a terminal the signs
    that it has, and the others by their numbers.
    """
    out = sys.stdout
    if isinstance(out, io.TextIOWrapper):
        if out.isatty():
            out.reconfigure(errors="backslashreplace")
        else:
            out.reconfigure(encoding="utf-8")


def system_words(error: OSError) -> str:
    """Say what the system refused, of which file; what else is to be written is not."""
    if error.filename is not None:
        return f"{error.filename}: {error.strerror}"
    if error.errno == errno.ENOSPC:
        # Where the answer goes is full; what is left of it would fail once more.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return f"the answer cannot be written: {error}"
    return str(error)
