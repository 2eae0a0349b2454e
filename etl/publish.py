"""Publish the ledger as a new read-only edition."""

import shutil
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import duckdb

from etl.batch_tally import count_stale
from etl.disk import force_to_disk
from etl.spare_edition import take_spare
from queries.errors import FirmsetError
from queries.proof import all_proofs, read_faults
from queries.store import Store

KEPT_EDITIONS = 5

# An edition holds what the ledger holds if these agree: every transaction that changes
# the ledger leaves a row.
CHANGES_SQL = "select count(*), max(change_id), max(changed_at) from ledger_change"


def is_ahead_of_edition(con: duckdb.DuckDBPyConnection, store: Store) -> bool:
    """Say whether the ledger holds what no sound edition shows.

    It is from this load, or from one that ended before it published; or the edition
    was damaged since.
    """
    held = con.execute(CHANGES_SQL).fetchall()
    if held[0][0] == 0:
        return False
    try:
        with store.pointed_reader() as reader:
            return reader.execute(CHANGES_SQL).fetchall() != held
    except FirmsetError:
        return True


def seal_edition(
    con: duckdb.DuckDBPyConnection, store: Store, now: datetime, reason: str
) -> int:
    """Number the next edition in the ledger and checkpoint it; return the number.

    First the batches are counted whose rows the load changed, whichever load that was.

    A number is never used twice, not even where its load was killed before it moved
    the pointer: a reader may have the file open. A copy made without the checkpoint
    would lack what is still in the write-ahead log. The ledger must be closed before
    publish_edition copies it. FirmsetError, and no edition, where the ledger does not
    add up.
    """
    count_stale(con)
    _prove(con, store)
    taken = [store.current_edition_id() or 0, *store.edition_ids()]
    edition_id = max(taken) + 1
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
    count = f"{faults.height} fault" + "s" * (faults.height > 1)
    raise FirmsetError(
        f"{store.ledger_path}: does not add up, so nothing was published; readers keep "
        f"the last edition. {count}: {first}. Take back the files "
        "concerned with firmset unload, or build the store anew from the logs"
    )


def publish_edition(store: Store, edition_id: int, keep: int | None = None) -> None:
    """Copy the closed ledger to an edition and move the pointer to it, atomically.

    Where an edition goes for it, that file is brought up to date and renamed instead. A
    reader sees the old edition or the new one, never a part; on a crash at any
    point the pointer still names a whole edition. What a load that failed here had
    written is removed, so that a full disk has its room back. The last `keep` stay;
    None: as many as stayed before, KEPT_EDITIONS at least.
    """
    kept = keep or max(KEPT_EDITIONS, _published_count(store))
    target = store.edition_path(edition_id)
    target.parent.mkdir(exist_ok=True)
    force_to_disk(store.folder)
    drop_partial(store)
    try:
        partial = target.with_suffix(".partial")
        spare = _spare_edition(store, kept)
        if spare is None or not take_spare(spare, store.ledger_path, partial):
            shutil.copyfile(store.ledger_path, partial)
        move_to_disk(partial, target)
        pointer = store.pointer_path.with_suffix(".partial")
        pointer.write_text(f"{edition_id}\n{target.stat().st_size}\n", "ascii")
        move_to_disk(pointer, store.pointer_path)
    except OSError:
        drop_partial(store)
        raise
    _drop_old(store, kept)


def move_to_disk(partial: Path, target: Path) -> None:
    """Give a written file its name; contents and name are on disk afterwards.

    In this order: a name that reaches the disk before its contents would be an empty
    file after a power cut, and a pointer before its edition would point at nothing.
    """
    force_to_disk(partial)
    partial.replace(target)
    force_to_disk(target.parent)


def drop_partial(store: Store) -> None:
    """Remove what was killed or failed while copying left behind.

    Also the write-ahead log of such a copy: it must not be read into the next one.
    """
    for path in store.pointer_path.parent.glob("*.partial*"):
        path.unlink(missing_ok=True)


def _published_count(store: Store) -> int:
    """Return how many editions stay, but for those that were never pointed at."""
    newest = store.current_edition_id() or 0
    return sum(each <= newest for each in store.edition_ids())


def _spare_edition(store: Store, keep: int) -> Path | None:
    """Return the newest edition that goes when another one comes, None without."""
    known = store.edition_ids()
    going = known[: max(0, len(known) + 1 - keep)]
    if not going or going[-1] == store.current_edition_id():
        return None
    return store.edition_path(going[-1])


def _drop_old(store: Store, keep: int) -> None:
    """Remove editions beyond the last `keep`; a reader that holds one keeps it."""
    for edition_id in store.edition_ids()[:-keep]:
        with suppress(PermissionError):  # Windows: a reader holds it. Next time.
            store.edition_path(edition_id).unlink(missing_ok=True)
