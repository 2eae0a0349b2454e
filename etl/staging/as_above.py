"""Cells that say "as above": a ditto mark is what the cell above it holds.

Lists that were first written by hand have them, where a hand would not write the same
day and crew on every line. They are read before anything else is, so that what stands
there is translated, counted within, given back and corrected as in any other cell.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

import duckdb

from etl.month_names import weekday_named
from etl.site_map import SiteMap
from etl.staging.no_rows import no_row_sql
from etl.staging.staged_file import StagedFile


def with_as_above(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> StagedFile:
    """Fill such cells of staged_row, in the columns that the map reads.

    Above is the next row that is one of the table (etl/staging/no_rows.py). What has
    nothing above stays as it is.
    """
    if not site_map.as_above:
        return staged
    counts = _count_marks(con, staged, site_map)
    if not counts:
        return staged
    is_no_row, parameters = no_row_sql(staged, site_map)
    cells = [staged.cell_sql(header) for header in counts]
    con.execute(
        f"""
        update staged_row set {", ".join(f"{cell} = above.{cell}" for cell in cells)}
        from (
            select
                place,
                {", ".join(f"{_filled_sql(cell)} as {cell}" for cell in cells)}
            from (
                select
                    rowid as place,
                    {is_no_row} as is_no_row,
                    {", ".join(cells)}
                from staged_row
            )
        ) as above
        where staged_row.rowid = above.place
        """,
        parameters | _marks(staged, site_map, counts),
    )
    left = _count_marks(con, staged, site_map)
    filled = {name: count - left.get(name, 0) for name, count in counts.items()}
    return replace(staged, as_above_words=_said(filled))


def folded_mark(text: str) -> str:
    """Return what is compared of a cell that may say so: no capitals, no blanks."""
    return "".join(text.lower().split())


def _marks(
    staged: StagedFile, site_map: SiteMap, headers: Iterable[str]
) -> dict[str, object]:
    """Return the parameters of _is_mark_sql; "Do" among weekdays is Thursday."""
    marks = [folded_mark(word) for word in site_map.as_above]
    no_days = [mark for mark in marks if weekday_named(mark) is None]
    weekly = {found.parts[1] for found in site_map.columns if found.week}
    return {
        f"marks_{staged.cell_sql(header)}": no_days if header in weekly else marks
        for header in headers
    }


def _is_mark_sql(cell: str) -> str:
    folded = rf"lower(regexp_replace({cell}, '\s', '', 'g'))"
    return f"coalesce(list_contains($marks_{cell}, {folded}), false)"


def _filled_sql(cell: str) -> str:
    """Return a cell of staged_row, or what it repeats; "" holds a blank's place."""
    is_mark = _is_mark_sql(cell)
    held = f"if(is_no_row or {is_mark}, null, coalesce({cell}, ''))"
    above = (
        f"last_value({held} ignore nulls) over "
        "(order by place rows between unbounded preceding and current row)"
    )
    return f"if({is_mark}, nullif(coalesce({above}, {cell}), ''), {cell})"


def _count_marks(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> dict[str, int]:
    """Return how many such cells there are under each header that has any."""
    headers = list(_headers(staged, site_map))
    if not headers:
        return {}
    counted = (f"count_if({_is_mark_sql(staged.cell_sql(name))})" for name in headers)
    [counts] = con.execute(
        f"select {', '.join(counted)} from staged_row",
        _marks(staged, site_map, headers),
    ).fetchall()
    return {name: count for name, count in zip(headers, counts, strict=True) if count}


def _headers(staged: StagedFile, site_map: SiteMap) -> Iterator[str]:
    listed = site_map.listed.headers if site_map.listed else ()
    told = {name for name, _ in staged.told}
    for header in dict.fromkeys([*site_map.headers_read, *listed]):
        if header in staged.headers and header not in told:
            yield header


def _said(filled: dict[str, int]) -> tuple[str, ...]:
    """Return the remark on how many cells were filled under each header."""
    listed = [f"{header!r} ({count})" for header, count in filled.items() if count]
    said = "cells that say as above, read as the cell above them"
    return (f"{said}: {', '.join(listed)}",) if listed else ()
