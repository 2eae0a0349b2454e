"""Records of a site that are numbered within other things than before: counted twice?

A list that repeats earlier weeks brings the same anchors under other record numbers
once its map says otherwise what they count within. The same file is refused then;
another one may as well be new work, so it is asked.
"""

import tomllib
from typing import Any

import duckdb

from etl.site_map import SiteMap


def question_of_within(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> list[str]:
    """Ask where days of this file are held with numbers that count within others.

    Called within the load, once its rows are in installation.
    """
    now = _names_now(site_map)
    maps = con.execute(
        """
        select max(source_file_id), any_value(text)
        from source_file inner join site_map on site_map_sha256 = site_map.sha256
        where
            site_code = $site_code and content = 'installations'
            and unloaded_at is null and source_file_id != $source_file_id
        group by site_map_sha256
        order by 1 desc
        """,
        {"site_code": site_map.site_code, "source_file_id": source_file_id},
    ).fetchall()
    for earlier, text in maps:
        before = _names_of(tomllib.loads(text).get("columns", {}))
        if before != now and _shares_days(con, earlier, source_file_id):
            asked = (
                f"records are numbered {_words(now)}, in receipt {earlier} "
                f"{_words(before)}, which holds the same days: a question whether rows "
                "that stand there came again; such anchors count twice now. If they "
                f"did, firmset unload {earlier} and load this file again"
            )
            return [asked]
    return []


def _shares_days(
    con: duckdb.DuckDBPyConnection, earlier: int, source_file_id: int
) -> bool:
    [(shares,)] = con.execute(
        """
        select count(*) > 0
        from (
            select distinct installed_on from installation
            where source_file_id = $earlier
        )
        where installed_on in (
            select installed_on from installation
            where source_file_id = $source_file_id
        )
        """,
        {"earlier": earlier, "source_file_id": source_file_id},
    ).fetchall()
    return bool(shares)


def _names_now(site_map: SiteMap) -> tuple[str, ...]:
    columns = {
        found.header.lower(): found.column.name
        for found in site_map.columns
        if found.column.name != "record_id"
    }
    return tuple(columns.get(name.lower(), name) for name in site_map.counts_within)


def _names_of(columns: dict[str, Any]) -> tuple[str, ...]:
    """Return the same of a stored map's text: by column, else by header."""
    names = {
        header.lower(): name
        for name, said in columns.items()
        for header in [said.get("from") if isinstance(said, dict) else said]
        if isinstance(header, str) and name != "record_id"
    }
    record = columns.get("record_id", {})
    within = record.get("within", []) if isinstance(record, dict) else []
    return tuple(names.get(header.lower(), header) for header in within)


def _words(names: tuple[str, ...]) -> str:
    return f"within {', '.join(names)}" if names else "over the whole site"
