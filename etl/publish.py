"""Publish the ledger as a new read-only edition."""

import os
import shutil
from datetime import datetime
from pathlib import Path

import duckdb

from queries.errors import FirmsetError
from queries.proof import all_proofs, read_faults
from queries.store import Store

KEPT_EDITIONS = 5


def seal_edition(
    con: duckdb.DuckDBPyConnection, store: Store, now: datetime, reason: str
) -> int:
    """Number the next edition in the ledger and checkpoint it; return the number.

    A copy made without the checkpoint would lack what is still in the write-ahead
    log. The ledger must be closed before publish_edition copies it. FirmsetError,
    and no edition, where the ledger does not add up.
    """
    _prove(con, store)
    edition_id = (store.current_edition_id() or 0) + 1
    con.execute("delete from edition where edition_id >= ?", [edition_id])
    con.execute("insert into edition values (?, ?, ?)", [edition_id, now, reason])
    con.execute("checkpoint")
    return edition_id


def _prove(con: duckdb.DuckDBPyConnection, store: Store) -> None:
    faults = read_faults(con, tuple(proof for proof in all_proofs() if proof.is_quick))
    if faults.is_empty():
        return
    first = "; ".join(
        f"{row['subject']}: {row['found']}, expected {row['expected']}"
        for row in faults.head(3).to_dicts()
    )
    raise FirmsetError(
        f"{store.ledger_path}: does not add up, so nothing was published; readers keep "
        f"the last edition. {faults.height} faults: {first}. Take back the files "
        "concerned with firmset unload, or build the store anew from the logs"
    )


def publish_edition(store: Store, edition_id: int, keep: int = KEPT_EDITIONS) -> None:
    """Copy the closed ledger to an edition and move the pointer to it, atomically.

    A reader sees the old edition or the new one, never a part; on a crash at any
    point the pointer still names a whole edition.
    """
    target = store.edition_path(edition_id)
    target.parent.mkdir(exist_ok=True)
    partial = target.with_suffix(".partial")
    shutil.copyfile(store.ledger_path, partial)
    _sync(partial)
    partial.replace(target)
    pointer = store.pointer_path.with_suffix(".partial")
    pointer.write_text(f"{edition_id}\n", "ascii")
    _sync(pointer)
    pointer.replace(store.pointer_path)
    _sync(target.parent)
    _drop_old(store, edition_id, keep)


def _sync(path: Path) -> None:
    """Force a file, or a folder's entries, to disk."""
    if os.name == "nt" and path.is_dir():  # Windows cannot open a folder for this.
        return
    descriptor = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _drop_old(store: Store, edition_id: int, keep: int) -> None:
    """Remove editions beyond the last `keep`; a reader that holds one keeps it."""
    for path in store.pointer_path.parent.glob("*.duckdb"):
        if int(path.stem) <= edition_id - keep:
            path.unlink(missing_ok=True)
