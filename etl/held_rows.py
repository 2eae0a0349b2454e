"""Rows that are given back as they are held, not as their file had them.

A row that was taken and then displaced by other content is known by what was read of
it: firmset's own columns (queries/readers/corrections.py), in millimetres, newton
metres and ISO 8601, whatever its site writes.
"""

from pathlib import Path

import duckdb

from etl.site_map import MappedColumn, SiteMap
from queries.columns import LOGGED_COLUMNS
from queries.errors import FirmsetError
from queries.readers.corrections import HELD

_RECORD = f"{HELD}record_id"
# A site may have one of these names, not all.
_NAMES = {_RECORD, f"{HELD}crew_code", f"{HELD}setting_code"}


def is_held(header: list[str], row: list[str]) -> bool:
    """Say whether a row of a file of corrections is one that is held."""
    cells = dict(zip(header, row, strict=False))
    return {*header} >= _NAMES and bool(cells[_RECORD].strip())


def held_part(site_code: str) -> str:
    """Return what is behind the file's name on the receipt of such rows of a site."""
    return f" [as held, {site_code}]"


def require_held_columns(
    con: duckdb.DuckDBPyConnection, path: Path, header: list[str], rows: list[list[str]]
) -> None:
    """Raise FirmsetError where a column is gone that rows given back as held had."""
    had = con.execute(
        """
        select distinct unnest(json_keys(json_strip_nulls(raw_text)))
        from rejected_row
        where
            reason_code = 'displaced'
            and (source_file_id::varchar, source_row::varchar) in (
                select (receipt, line)
                from (select unnest($receipts) as receipt, unnest($lines) as line)
            )
        """,
        {"receipts": [row[0] for row in rows], "lines": [row[1] for row in rows]},
    ).fetchall()
    lost = sorted({f"{HELD}{name}" for (name,) in had} - {*header})
    if lost:
        raise FirmsetError(
            f"{path}: row 1: lacks the columns {', '.join(map(repr, lost))}: expected "
            "all of them, as firmset rejects wrote them"
        )


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
