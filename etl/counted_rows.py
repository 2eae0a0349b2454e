"""A question: rows that say how many anchors they stand for count as one each."""

import duckdb

from etl.draft.match import may_count
from etl.draft.remarks import range_in
from etl.site_map import SiteMap
from etl.staging import StagedFile

# What no log of single anchors says now and then by chance.
MOST_COUNTED_FRAC = 0.02
# So many rows show whether their numbers are ranges.
LOOKED_AT = 1000


def question_of_counts(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> list[str]:
    """Ask whether rows stand for several anchors, where an unread column counts some.

    Called within the load, while staged_row is there; changes nothing. Nothing is asked
    where the map tells a row's anchors apart.
    """
    if site_map.beside is not None:
        return []
    asked = _of_ranges(con, staged, site_map)
    for header in staged.headers:
        if header in site_map.headers_read or not may_count(header):
            continue
        cell = f"try_cast(trim({staged.cell_sql(header)}) as integer)"
        [(rows, several, anchors)] = con.execute(
            f"""
            select count(*), count(*) filter (where counted > 1), sum(counted)
            from (
                select {cell} as counted
                from staged_row
                where not is_blank_row and not ({staged.is_elsewhere_sql})
            )
            """
        ).fetchall()
        if several > MOST_COUNTED_FRAC * rows:
            asked.append(
                f"column {header!r} says more than 1 in {several:,} of {rows:,} rows, "
                f"{anchors:,} in all: a question whether rows stand for several "
                "anchors; each row now counts as one, as nothing says what was "
                "measured of the others. If so, send a row for each anchor"
            )
    return asked


def _of_ranges(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> list[str]:
    """Ask whether rows stand for several anchors, where their numbers are ranges."""
    [number] = [one for one in site_map.columns if one.column.name == "record_id"]
    if len(number.own_headers) != 1:
        return []
    rows = con.execute(
        f"""
        select trim({staged.cell_sql(number.header)})
        from staged_row
        where not is_blank_row and not ({staged.is_elsewhere_sql})
        order by rowid
        limit {LOOKED_AT}
        """
    ).fetchall()
    named = range_in([cell for (cell,) in rows if cell])
    if named is None:
        return []
    question = (
        f"record numbers as {named!r}: a question whether rows stand for several "
        "anchors; each row now counts as one, as nothing says what was measured of the "
        "others. If so, send a row for each anchor"
    )
    return [question]
