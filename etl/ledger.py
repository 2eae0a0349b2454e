"""The ledger: the writer's database of a store."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

import duckdb

from etl.claims import WHOLE_TABLES
from etl.codes import key_as_today
from etl.faults import repair_words, storage_fault
from etl.lock import hold_store
from queries.build import create_schema
from queries.edition_file import check_schema_version, is_cut_short, is_damage
from queries.errors import FirmsetError
from queries.record_hash import has_todays_hashes, record_hash_sql
from queries.store import Store

LEDGER_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "memory_limit": "1GB",
    # A load checkpoints once, when it publishes, not after every few files.
    "checkpoint_threshold": "256MB",
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}

NO_LEDGER = (
    "is a database, but not a ledger of firmset; expected --store to name a folder of "
    "its own"
)
# What DuckDB writes of a new database at once: three headers, "DUCK" in the first.
HEADERS_BYTES = 3 * 4096


@contextmanager
def open_ledger(
    store: Store, *, is_older: bool = False
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Yield the ledger opened for writing, made first where there is none.

    Holds the store's lock as long as it is open; a load that publishes holds it
    longer (etl/lock.py). `is_older`: it may have an older schema, which is left as it
    is. Raises FirmsetError where another load has it open, it has another schema, or
    it is damaged; the message says what to do.
    """
    with hold_store(store):
        spill = store.folder / "spill"
        shutil.rmtree(spill, ignore_errors=True)  # A killed load's.
        _drop_unfinished(store)
        con = _connect(store)
        try:
            con.execute("set TimeZone = 'UTC'")
            con.execute("set temp_directory = ?", [str(spill)])
            if not is_older:
                _create_or_check(con, store)
                _hash_as_today(con)
                key_as_today(con)
            yield con
        finally:
            con.close()


def _create_or_check(con: duckdb.DuckDBPyConnection, store: Store) -> None:
    """Create the schema in an empty database, check it in any other.

    Empty is also one whose first load was killed before the schema was committed.
    """
    try:
        check_schema_version(con, store.ledger_path, store.folder)
    except duckdb.CatalogException as error:
        if con.execute("select count(*) from duckdb_tables()").fetchall() != [(0,)]:
            raise FirmsetError(f"{store.ledger_path}: {NO_LEDGER}") from error
        con.execute("begin")
        create_schema(con)
        con.execute("commit")


def _hash_as_today(con: duckdb.DuckDBPyConnection) -> None:
    """Hash the record numbers again where another version of DuckDB hashed them."""
    if has_todays_hashes(con):
        return
    con.execute("begin")
    for table in WHOLE_TABLES:
        con.execute(f"update {table} set record_hash = {record_hash_sql('record_id')}")
    con.execute("commit")


def _connect(store: Store) -> duckdb.DuckDBPyConnection:
    path = store.ledger_path
    was_closed = path.exists() and not path.with_suffix(".duckdb.wal").exists()
    try:
        con = duckdb.connect(path, config=LEDGER_CONFIG)
    except duckdb.Error as error:
        if storage_fault(error, store) is not None and not is_damage(error):
            raise
        reason = str(error).splitlines()[0]
        if "lock" in reason.lower():
            raise FirmsetError(
                f"{path}: another program has the ledger open; "
                "try again when it has ended"
            ) from error
        if not path.is_file() or "Cannot open file" in reason:
            raise FirmsetError(
                f"{path}: the ledger cannot be opened: {reason}; expected a file that "
                "a load may write"
            ) from error
        raise FirmsetError(
            f"{path}: is damaged or no ledger ({reason}); {repair_words(store)}"
        ) from error
    # Blocks of a write-ahead log that was just read may not be in the file yet.
    if was_closed and is_cut_short(con, path):
        con.close()
        raise FirmsetError(f"{path}: is damaged: cut short; {repair_words(store)}")
    return con


def _drop_unfinished(store: Store) -> None:
    """Remove a ledger whose first load was killed while DuckDB made the file."""
    path = store.ledger_path
    if not path.is_file() or path.stat().st_size >= HEADERS_BYTES:
        return
    with path.open("rb") as file:
        start = file.read(12)
    is_duckdbs = start == b"" or start[8:] == b"DUCK"
    has_more = path.with_suffix(".duckdb.wal").exists() or store.edition_ids()
    if is_duckdbs and not has_more:
        path.unlink()
