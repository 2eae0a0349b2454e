"""One edition's file: opened read-only and hardened, or found damaged."""

import os
from pathlib import Path

import duckdb

from queries.build import OLDEST_TO_MIGRATE, SCHEMA_VERSION
from queries.errors import FirmsetError

# How DuckDB says, while it reads, that a file is not what it wrote.
DAMAGE_WORDS = ("Corrupt database file", "Could not read enough bytes")

# No file, network or extension access; open_edition locks it, so that no query can
# turn it back on.
READER_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "enable_external_access": False,
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    "memory_limit": "1GB",
    "threads": max(1, min(4, os.cpu_count() or 1)),
}


class DamagedEdition(FirmsetError):  # noqa: N818
    """An edition's file is missing, cut short, or no database."""


def open_edition(path: Path, byte_count: int = 0) -> duckdb.DuckDBPyConnection:
    """Open an edition read-only and hardened; DamagedEdition where it is not whole.

    `byte_count`: the least size of its file. DuckDB opens a file that was cut short
    and fails, or not, when a query comes to what is missing.
    """
    if path.is_file() and path.stat().st_size < byte_count:
        raise DamagedEdition(f"{path}: is cut short")
    try:
        connection = duckdb.connect(path, read_only=True, config=READER_CONFIG)
    except duckdb.Error as error:
        reason = str(error).splitlines()[0]
        raise DamagedEdition(f"{path}: cannot be opened ({reason})") from error
    try:
        # From here on DuckDB's lock keeps a load from using the file for its edition;
        # before, it had to take its name away (etl/spare_edition.py).
        if not path.is_file():
            raise DamagedEdition(f"{path}: is no longer kept")
        if is_cut_short(connection, path):
            raise DamagedEdition(f"{path}: is cut short")
        # One process has one database a file: where another Store opened this edition
        # before, it is set and locked already.
        if connection.execute(
            "select current_setting('lock_configuration')"
        ).fetchall() == [(False,)]:
            connection.execute("set global TimeZone = 'UTC'")
            connection.execute("set global lock_configuration = true")
        check_schema_version(connection, path, path.parents[1])
    except duckdb.Error as error:
        connection.close()
        reason = str(error).splitlines()[0]
        raise DamagedEdition(f"{path}: cannot be read ({reason})") from error
    except FirmsetError:
        connection.close()
        raise
    return connection


def is_damage(error: duckdb.Error) -> bool:
    """Say whether DuckDB complains that a database file is not what it wrote."""
    return any(words in str(error) for words in DAMAGE_WORDS)


def is_cut_short(con: duckdb.DuckDBPyConnection, path: Path) -> bool:
    """Say whether a database file is smaller than the blocks it uses.

    Never wrong when it says so. Free blocks may hide that the last ones are missing:
    how far the used ones reach is not told. The headers before them are 3 * 4096
    bytes.
    """
    [(least,)] = con.execute(
        "select 12288 + sum(used_blocks * block_size)::bigint "
        "from pragma_database_size()"
    ).fetchall()
    return path.stat().st_size < int(least)


def read_schema_version(con: duckdb.DuckDBPyConnection) -> int:
    """Return the version of the schema that a ledger or an edition has."""
    [(version,)] = con.execute("select max(version) from schema_version").fetchall()
    return int(version)


def check_schema_version(
    con: duckdb.DuckDBPyConnection, path: Path, store_folder: Path
) -> None:
    """Raise FirmsetError unless the database has the schema this program knows."""
    version = read_schema_version(con)
    if version == SCHEMA_VERSION:
        return
    check_can_migrate(version, path)
    raise FirmsetError(
        f"{path}: schema version {version}, this firmset reads version "
        f"{SCHEMA_VERSION}; bring the store there, with all that it holds: "
        f"firmset migrate --store {store_folder}"
    )


def check_can_migrate(version: int, path: Path) -> None:
    """Raise FirmsetError unless there are steps from this version to today's."""
    if version > SCHEMA_VERSION:
        raise FirmsetError(
            f"{path}: schema version {version}, this firmset reads version "
            f"{SCHEMA_VERSION}; a newer firmset made it: use that one"
        )
    if version < OLDEST_TO_MIGRATE:
        raise FirmsetError(
            f"{path}: schema version {version}, this firmset reads version "
            f"{SCHEMA_VERSION}; build the store anew from the site logs with "
            "firmset load, or use the firmset that made it"
        )
