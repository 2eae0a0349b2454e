"""A store as its readers see it: the published edition, opened read-only.

A store is a folder: `ledger.duckdb`, written only by a load, and `editions/` with
numbered copies of it and a pointer file that names the current one. Each edition has
a file name of its own because DuckDB keeps showing the old contents of a path that
was replaced while a connection to it lives.
"""

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from queries.build import SCHEMA_VERSION
from queries.errors import FirmsetError

POINTER_NAME = "current"

# No file, network or extension access; _open_edition locks it, so that no query can
# turn it back on.
READER_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "enable_external_access": False,
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    "memory_limit": "1GB",
    "threads": max(1, min(4, os.cpu_count() or 1)),
}


class Store:
    """One store folder. Safe to share between threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._edition_id: int | None = None
        self._connection: duckdb.DuckDBPyConnection | None = None

    @property
    def ledger_path(self) -> Path:
        """Where a load writes."""
        return self.folder / "ledger.duckdb"

    @property
    def pointer_path(self) -> Path:
        """The file that holds the number of the current edition."""
        return self.folder / "editions" / POINTER_NAME

    def edition_path(self, edition_id: int) -> Path:
        """Where an edition is, or would be."""
        return self.folder / "editions" / f"{edition_id:08d}.duckdb"

    def current_edition_id(self) -> int | None:
        """Return the number of the current edition, None where nothing is published."""
        try:
            return int(self.pointer_path.read_text("ascii"))
        except FileNotFoundError:
            return None

    @contextmanager
    def reader(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """Yield a cursor on the current edition; a new load's edition from the next on.

        Raises FirmsetError where nothing was published or the edition was made by
        another version of the schema.
        """
        with self._lock:
            cursor = self._current_connection().cursor()
        try:
            yield cursor
        finally:
            cursor.close()

    def _current_connection(self) -> duckdb.DuckDBPyConnection:
        edition_id = self.current_edition_id()
        if edition_id is None:
            raise FirmsetError(
                f"{self.folder}: no edition is published here; "
                "load a site's log first: firmset load PATH --store FOLDER"
            )
        if self._connection is None or edition_id != self._edition_id:
            # The old connection is not closed: a reader may be half way through an
            # answer. It goes when its last cursor does.
            self._connection = _open_edition(self.edition_path(edition_id))
            self._edition_id = edition_id
        return self._connection


def _open_edition(path: Path) -> duckdb.DuckDBPyConnection:
    try:
        connection = duckdb.connect(path, read_only=True, config=READER_CONFIG)
    except duckdb.IOException as error:
        raise FirmsetError(f"{path}: the edition cannot be opened: {error}") from error
    # One process has one database a file: where another Store opened this edition
    # before, it is set and locked already.
    if connection.execute(
        "select current_setting('lock_configuration')"
    ).fetchall() == [(False,)]:
        connection.execute("set global TimeZone = 'UTC'")
        connection.execute("set global lock_configuration = true")
    check_schema_version(connection, path)
    return connection


def check_schema_version(con: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Raise FirmsetError unless the database has the schema this program knows."""
    [(version,)] = con.execute("select max(version) from schema_version").fetchall()
    if version != SCHEMA_VERSION:
        raise FirmsetError(
            f"{path}: schema version {version}, this firmset reads version "
            f"{SCHEMA_VERSION}; build the store anew from the site logs with "
            "firmset load, or use the firmset that made it"
        )
