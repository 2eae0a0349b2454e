"""One load at a time: the lock that a load holds on its store until it has published.

DuckDB's own lock on the ledger is not enough: the ledger must be closed before it is
copied to an edition, and a second load could write to it under the copy.
"""

import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from etl.progress import QUIET, LoadProgress
from queries.errors import FirmsetError
from queries.store import Store

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

LOCK_NAME = "load.lock"
POLL_S = 0.1

# The folders this thread holds: what a load calls may lock the store once more.
_held = threading.local()


@contextmanager
def hold_store(
    store: Store,
    wait_s: float = 0,
    progress: LoadProgress = QUIET,
    pause: Callable[[float], None] = time.sleep,
) -> Iterator[None]:
    """Hold the store's lock; wait up to `wait_s` seconds where another load has it.

    The system lets go of it when the process ends, however it ends; the empty lock
    file stays. Raises FirmsetError where another load still runs after the wait, or
    where the folder cannot be made or written.
    """
    folders: set[Path] = _held.__dict__.setdefault("folders", set())
    folder = store.folder.absolute()
    if folder in folders:
        yield
        return
    descriptor = _open_lock(store)
    try:
        _wait_for(descriptor, store, wait_s, progress, pause)
        folders.add(folder)
        try:
            yield
        finally:
            folders.discard(folder)
    finally:
        os.close(descriptor)


def _open_lock(store: Store) -> int:
    try:
        store.folder.mkdir(parents=True, exist_ok=True)
        return os.open(store.folder / LOCK_NAME, os.O_RDWR | os.O_CREAT, 0o666)
    except (FileExistsError, NotADirectoryError) as error:
        raise FirmsetError(
            f"{store.folder}: is not a folder; expected --store to name a folder"
        ) from error
    except OSError as error:
        raise FirmsetError(
            f"{store.folder}: cannot be written ({error.strerror}); make the folder "
            "writable, or name another with --store"
        ) from error


def _wait_for(
    descriptor: int,
    store: Store,
    wait_s: float,
    progress: LoadProgress,
    pause: Callable[[float], None],
) -> None:
    waited_s = 0.0
    while not _is_taken(descriptor, store):
        if waited_s >= wait_s or progress.is_stopped():
            raise FirmsetError(
                f"{store.folder}: another load is writing to this store; "
                "try again when it has ended"
            )
        if waited_s == 0:
            progress.waiting(
                f"waiting for another load on {store.folder} to end, "
                f"up to {wait_s:g} s ..."
            )
        pause(POLL_S)
        waited_s += POLL_S


def _is_taken(descriptor: int, store: Store) -> bool:
    """Try to take the lock; say whether it is ours now."""
    try:
        if sys.platform == "win32":
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    except OSError as error:
        raise FirmsetError(
            f"{store.folder}: files cannot be locked here ({error.strerror}); "
            "expected a store on a local disk"
        ) from error
    return True
