"""Which edition a figure comes from."""

from dataclasses import dataclass
from datetime import datetime

import duckdb

from queries.errors import FirmsetError


@dataclass(frozen=True)
class Edition:
    """A published copy of the ledger; `published_at` is a UTC instant."""

    edition_id: int
    published_at: datetime


def read_edition(con: duckdb.DuckDBPyConnection) -> Edition:
    """Return the edition that `con` reads."""
    rows = con.execute(
        "select edition_id, published_at from edition order by edition_id desc limit 1"
    ).fetchall()
    if not rows:
        raise FirmsetError("this database was never published as an edition")
    [(edition_id, published_at)] = rows
    return Edition(edition_id=edition_id, published_at=published_at)
