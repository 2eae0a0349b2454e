"""Which edition a figure comes from."""

import threading
from dataclasses import dataclass
from datetime import datetime
from weakref import WeakKeyDictionary

import duckdb

from queries.errors import FirmsetError


@dataclass(frozen=True)
class Edition:
    """A published copy of the ledger; `published_at` is a UTC instant."""

    edition_id: int
    published_at: datetime


@dataclass(frozen=True)
class OpenEdition:
    """An edition and the file that it is read from; `path` None where in memory."""

    edition: Edition
    path: str | None


# An edition never changes: which one it is, is asked once a connection, not a cursor.
_known: WeakKeyDictionary[duckdb.DuckDBPyConnection, OpenEdition] = WeakKeyDictionary()
_lock = threading.Lock()


def know_edition(
    cursor: duckdb.DuckDBPyConnection, connection: duckdb.DuckDBPyConnection
) -> None:
    """Let a cursor on an edition's connection know which edition it reads."""
    with _lock:
        opened = _known.get(connection)
    # Not asked of the connection itself, which another thread may be asking too.
    opened = opened or which_edition(cursor)
    with _lock:
        _known[connection] = _known[cursor] = opened


def read_edition(con: duckdb.DuckDBPyConnection) -> Edition:
    """Return the edition that `con` reads."""
    return which_edition(con).edition


def which_edition(con: duckdb.DuckDBPyConnection) -> OpenEdition:
    """Return the edition that `con` reads, and its file."""
    with _lock:
        known = _known.get(con)
    if known is not None:
        return known
    rows = con.execute(
        """
        select edition_id, published_at, path
        from edition cross join duckdb_databases()
        where not internal and database_name = current_database()
        order by edition_id desc
        limit 1
        """
    ).fetchall()
    if not rows:
        raise FirmsetError("this database was never published as an edition")
    [(edition_id, published_at, path)] = rows
    return OpenEdition(Edition(edition_id, published_at), path)
