"""The ledger: the writer's database of a store."""

from collections.abc import Iterator
from contextlib import contextmanager

import duckdb

from queries.build import create_schema
from queries.errors import FirmsetError
from queries.store import Store, check_schema_version

LEDGER_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "memory_limit": "1GB",
    # A load checkpoints once, when it publishes, not after every few files.
    "checkpoint_threshold": "256MB",
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}


@contextmanager
def open_ledger(store: Store) -> Iterator[duckdb.DuckDBPyConnection]:
    """Yield the ledger opened for writing, made first where there is none.

    Raises FirmsetError where another load has it open, or it has another schema.
    """
    store.folder.mkdir(parents=True, exist_ok=True)
    is_new = not store.ledger_path.exists()
    con = _connect(store)
    try:
        con.execute("set TimeZone = 'UTC'")
        con.execute("set temp_directory = ?", [str(store.folder / "spill")])
        if is_new:
            con.execute("begin")
            create_schema(con)
            con.execute("commit")
        check_schema_version(con, store.ledger_path)
        yield con
    finally:
        con.close()


def _connect(store: Store) -> duckdb.DuckDBPyConnection:
    try:
        return duckdb.connect(store.ledger_path, config=LEDGER_CONFIG)
    except duckdb.IOException as error:
        if "lock" in str(error).lower():
            raise FirmsetError(
                f"{store.ledger_path}: another load is writing to this store; "
                "try again when it has ended"
            ) from error
        raise FirmsetError(
            f"{store.ledger_path}: the ledger cannot be opened: {error}"
        ) from error
