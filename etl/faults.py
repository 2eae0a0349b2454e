"""Tell a store that cannot be written from a file that cannot be loaded.

A full disk shows in many ways: an error of the system while an edition is copied, of
DuckDB while it writes its log, a fatal one that shuts the database, or only the failed
rollback after it. All are read here.
"""

import errno
import os
from pathlib import Path

import duckdb

from queries.edition_file import is_damage
from queries.errors import FirmsetError
from queries.store import Store

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
UNWRITABLE = (errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO)

# DuckDB's errors carry the system's words. The last one: DuckDB allows its spill files
# 90 % of the free disk, and names the setting when that is used up.
FULL_WORDS = (*(os.strerror(code) for code in FULL), "max_temp_directory_size")

FULL_FAULT = "the disk is full"
DAMAGE_FAULT = "the ledger is damaged"


class StorageFaultError(Exception):
    """Raised, from the error itself, to end a load at once."""


def storage_fault(error: BaseException, store: Store) -> str | None:
    """Say what is wrong with the disk under a store; None where it is not to blame.

    Errors raised while another was handled count with it: the rollback after a failed
    commit fails too, and hides it.
    """
    seen: BaseException | None = error
    while seen is not None:
        words = _fault(seen, store)
        if words is not None:
            return words
        seen = seen.__cause__ or seen.__context__
    return None


def _fault(error: BaseException, store: Store) -> str | None:
    if isinstance(error, OSError):
        return _system_fault(error, store)
    if not isinstance(error, duckdb.Error):
        return None
    text = str(error).splitlines()[0]
    if any(words in str(error) for words in FULL_WORDS):
        return f"{FULL_FAULT} ({text})"
    if is_damage(error):
        return f"{DAMAGE_FAULT} ({text})"
    if isinstance(error, (duckdb.FatalException, duckdb.InternalException)):
        # The database takes no statement after it.
        return f"the ledger cannot be written ({text})"
    return None


def _system_fault(error: OSError, store: Store) -> str | None:
    if error.errno in FULL:
        return f"{FULL_FAULT} ({error.strerror})"
    where = Path(str(error.filename2 or error.filename or ""))
    if error.errno in UNWRITABLE and where.is_relative_to(store.folder):
        return f"{where} cannot be written ({error.strerror})"
    return None


def fault_line(fault: str, store: Store, kept_count: int, file_count: int) -> str:
    """Return the one line that ends such a load: what was kept, what to do."""
    if fault.startswith(DAMAGE_FAULT):
        return f"{store.ledger_path}: {fault}; {repair_words(store)}"
    return (
        f"{store.folder}: {fault}; {kept_count} of {file_count} files are kept in the "
        "ledger, the others left no trace, and readers see the edition before; "
        f"{_remedy(fault)}, then run the same load again"
    )


def change_fault(
    error: BaseException, store: Store, *, is_made: bool
) -> FirmsetError | None:
    """Return the one line that ends another command; None: not the disk's fault.

    `is_made`: the change is in the ledger, and only its edition is not.
    """
    fault = storage_fault(error, store)
    if fault is None:
        return None
    if fault.startswith(DAMAGE_FAULT):
        return FirmsetError(f"{store.ledger_path}: {fault}; {repair_words(store)}")
    if is_made:
        return FirmsetError(
            f"{store.folder}: {fault}; the change is kept in the ledger, but readers "
            f"see the edition before: {_remedy(fault)}, then any firmset load "
            "publishes it"
        )
    return FirmsetError(
        f"{store.folder}: {fault}; the command was not finished, and readers see the "
        f"edition before: {_remedy(fault)}, then run it again"
    )


def _remedy(fault: str) -> str:
    return "make room" if fault.startswith(FULL_FAULT) else "put that right"


def repair_words(store: Store) -> str:
    """Say how to come by a sound ledger; not done unasked: it may be the only copy."""
    sound = store.newest_sound_edition()
    if sound is None:
        return f"move {store.folder} away and load the site logs again"
    return (
        f"move it away together with {store.ledger_path.name}.wal, copy {sound} to "
        f"{store.ledger_path} and load the newest logs again"
    )
