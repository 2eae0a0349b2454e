"""Rows that are given back as they are held, not as their file had them.

A row that was taken and then displaced by other content is known by what was read of
it: firmset's own columns (queries/readers/corrections.py), in millimetres, newton
metres and ISO 8601, whatever its site writes.
"""

import duckdb

from etl.site_map import MappedColumn, SiteMap
from queries.columns import LOGGED_COLUMNS
from queries.readers.corrections import HELD

_RECORD = f"{HELD}record_id"


def is_held(header: list[str], row: list[str]) -> bool:
    """Say whether a row of a file of corrections is one that is held."""
    return bool(dict(zip(header, row, strict=False)).get(_RECORD, "").strip())


def map_of_held(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, site_code: str, header: list[str]
) -> SiteMap:
    """Return a map of the site `site_code` for such rows of a comma CSV in UTF-8.

    The mark "firmset revision" is the column of that name.
    """
    [(site_name, time_zone)] = con.execute(
        "select site_name, time_zone from site where site_code = ?", [site_code]
    ).fetchall()
    return SiteMap(
        path=site_map.path,
        sha256=site_map.sha256,
        site_code=site_code,
        site_name=site_name,
        time_zone=time_zone,
        match=site_map.match,
        columns=tuple(
            MappedColumn(column, name, column.unit, 1.0, False)
            for column in LOGGED_COLUMNS
            if (name := f"{HELD}{column.name}") in header
        ),
    )
