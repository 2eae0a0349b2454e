"""A log of several sites: each site's rows are a part of it, with a receipt.

So file and row name one record everywhere, and a site's rows can be taken back alone.
Rows that name no site of the map are a part too: all of them are rejected.
"""

from collections.abc import Collection, Iterator
from dataclasses import replace

import duckdb

from etl.screen import NO_SITE_CODE
from etl.site_map import SiteMap, SitesWithin
from etl.site_map.sites import places_of, plain_word
from etl.staging import StagedFile, filled_down_sql

# How the part is named of which no row is of a site of the map.
NO_SITE_PART = " [no site]"
MOST_NAMED = 5


def sites_of(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> Iterator[tuple[StagedFile, SiteMap]]:
    """Yield what staged_row holds of each site that is in it, and the map for that.

    Of a map for one site, all of it. Rows of no site come last, by a map without a
    site's code. Adds the columns site_cell and site_place (0 for no site) to
    staged_row; rows keep their places there, so that nothing is staged twice.
    """
    if site_map.sites is None:
        yield staged, site_map
        return
    places = _mark_rows(con, staged, site_map.sites)
    rows = _places_of(con, staged.title_places)
    for place in sorted(places, key=lambda place: (place == 0, place)):
        titles = tuple(row for row in staged.title_places if rows.get(row) == place)
        its = replace(staged, site_place=place, title_places=titles)
        if place == 0:
            # No clock is read of these rows; any site's will do.
            zone = site_map.time_zone or site_map.sites.sites[0].time_zone
            its = replace(its, part=f"{staged.part}{NO_SITE_PART}")
            yield its, replace(site_map, time_zone=zone)
            continue
        site = site_map.sites.sites[place - 1]
        # A bracket would end what receipts are told apart by.
        code = site.code.replace("]", ")")
        yield (
            replace(its, part=f"{staged.part} [site {code}]"),
            replace(
                site_map,
                site_code=site.code,
                site_name=site.name,
                time_zone=site.time_zone,
            ),
        )


def _mark_rows(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, within: SitesWithin
) -> list[int]:
    """Add site_cell and site_place to staged_row; return the places of its rows."""
    cell = staged.cell_sql(within.header)
    con.execute("alter table staged_row add column site_cell varchar")
    con.execute("alter table staged_row add column site_place integer")
    if within.fill_down:
        con.execute(
            f"""
            update staged_row set site_cell = said.cell
            from (
                select rowid as place, {filled_down_sql(cell)} as cell from staged_row
            ) as said
            where staged_row.rowid = said.place
            """
        )
    else:
        con.execute(f"update staged_row set site_cell = {cell}")
    cells = con.execute(
        "select distinct site_cell from staged_row where site_cell is not null"
    ).fetchall()
    named = places_of(within, (cell for (cell,) in cells))
    con.execute("update staged_row set site_place = 0")
    con.execute(
        """
        update staged_row set site_place = named.place + 1
        from (select unnest($cells) as cell, unnest($places) as place) as named
        where staged_row.site_cell = named.cell
        """,
        {"cells": list(named), "places": list(named.values())},
    )
    rows = con.execute(
        "select distinct site_place from staged_row where not is_blank_row"
    ).fetchall()
    return [place for (place,) in rows]


def _places_of(con: duckdb.DuckDBPyConnection, rows: Collection[int]) -> dict[int, int]:
    """Return whose the rows with these rowids are."""
    if not rows:
        return {}
    return dict(
        con.execute(
            "select rowid, site_place from staged_row where list_contains(?, rowid)",
            [list(rows)],
        ).fetchall()
    )


def words_joined(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> list[str]:
    """Say which words of a site are in no map, and differ in dashes or zeros alone."""
    if not staged.site_place or site_map.sites is None:
        return []
    known = {plain_word(word) for pair in site_map.sites.words for word in pair}
    cells = con.execute(
        "select distinct trim(site_cell) as word from staged_row "
        "where site_place = $place and not is_blank_row order by word",
        {"place": staged.site_place},
    ).fetchall()
    header = site_map.sites.header
    return [
        f"{header} {word!r} read as {site_map.site_code}"
        for (word,) in cells
        if plain_word(word) not in known
    ]


def words_of_no_site(con: duckdb.DuckDBPyConnection, staged: StagedFile) -> list[str]:
    """Say which words are none of the map's sites, of the part that is of none.

    Called once the rows are in `rejected`. A total's row has no word, or one of its
    own; rows without a word are no news.
    """
    if staged.site_place != 0:
        return []
    found = con.execute(
        f"""
        select trim(site_cell) as word, count(*) as rows, count(*) over () as words
        from staged_row
        inner join rejected on source_row = {staged.row_sql}
        where reason_code = $code and not is_blank(site_cell)
        group by word
        order by rows desc, word
        limit $most
        """,
        {"most": MOST_NAMED, "code": NO_SITE_CODE},
    ).fetchall()
    if not found:
        return []
    listed = [f"{word!r} ({rows})" for word, rows, _ in found]
    [more] = {words - len(found) for *_, words in found}
    said = ", ".join(listed) + (f" and {more} more" if more else "")
    remark = (
        f"rows of no site that the map has: {said}; write a line for each under "
        "[sites], and load the file again"
    )
    return [remark]
