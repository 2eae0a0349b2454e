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
    row = con.execute(
        "select edition_id, published_at from edition order by edition_id desc limit 1"
    ).fetchone()
    if row is None:
        raise FirmsetError("this database was never published as an edition")
    return Edition(edition_id=row[0], published_at=row[1])
