"""Logs that list their values, one a row: an anchor's are gathered in one row.

What is named in a row is a column then, beside those of the file; the row is that of
the anchor's first. Rows that hold no value of an anchor stay as they are, to be
accounted for as those of any file: what follows does not know of it.
"""

from collections.abc import Sequence
from dataclasses import replace

import duckdb

from etl.site_map import IDENTIFYING, ListedValues, SiteMap
from etl.staging.listed_rows import Name, mark_rows, names_of, text_of
from etl.staging.listed_words import words_of_listed
from etl.staging.staged_file import StagedFile
from queries.columns import COLUMN_BY_NAME
from queries.errors import FirmsetError


def with_listed(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> StagedFile:
    """Gather the rows of staged_row by anchor, where the map says that it lists values.

    Different values of one name are one text, "120 / 80"; of a code, which would be a
    code more, the anchor is rejected. Of another column of the file the first entry is
    taken. FirmsetError where a header is missing, or more is named than a file may have
    columns.
    """
    listed = site_map.listed
    if listed is None:
        return staged
    missing = [repr(name) for name in listed.headers if name not in staged.headers]
    if missing:
        raise FirmsetError(
            f"{staged.path}: row {site_map.header_row}: the site map "
            f"{site_map.path.name} takes {', '.join(missing)} under [listed], but the "
            f"file has the columns {', '.join(staged.headers)}"
        )
    mark_rows(con, staged, site_map, listed)
    names = names_of(con, staged, site_map, listed)
    headers = _headers(staged, site_map, names)
    titles = _file_rows(con, staged.title_places)
    words = words_of_listed(con, staged, site_map, listed, names)
    _gather(con, staged, site_map, listed, headers, names)
    return replace(
        staged,
        headers=headers,
        has_own_rows=True,
        title_places=_places(con, titles),
        listed_words=words,
    )


def _headers(
    staged: StagedFile, site_map: SiteMap, names: Sequence[Name]
) -> tuple[str, ...]:
    """Return the file's headers, what is named, and what no row of this file names.

    That is nothing but unrecorded, where it is not needed.
    """
    unnamed = [
        header
        for header, column in site_map.headers_read.items()
        if column not in IDENTIFYING
    ]
    named = [one.header for one in names]
    return tuple(dict.fromkeys([*staged.headers, *named, *unnamed]))


def _gather(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    listed: ListedValues,
    headers: Sequence[str],
    names: Sequence[Name],
) -> None:
    """Make staged_row anew, of a row an anchor and of the rows that hold none."""
    by_header = {one.header: f"n{number}" for number, one in enumerate(names)}
    valued = "".join(
        f", max(cell) filter (where name = ${name}) as {name}"
        for name in by_header.values()
    )
    cells = ", ".join(
        f"{_cell_sql(staged, listed, header, by_header)} as c{place}"
        for place, header in enumerate(headers, start=1)
    )
    firsts = "".join(
        f", arg_min({cell}, listed_row.place) filter (where {cell} is not null) "
        f"as {own}"
        for header in staged.headers
        if header not in listed.headers
        for cell, own in [(text_of(staged, header), staged.cell_sql(header))]
    )
    codes = [one for one in names if _is_code(site_map, one)]
    own = ", ".join(f"staged_row.{staged.cell_sql(name)}" for name in staged.headers)
    blank = ", null" * (len(headers) - staged.width)
    con.execute(
        f"""
        create or replace temp table gathered_row as
        with value as (
            select anchor, name, cell, min(place) as place
            from listed_row
            where anchor is not null and name is not null and cell is not null
            group by all
        ),

        named as (
            select
                anchor, name, string_agg(cell, ' / ' order by place) as cell,
                count(*) > 1 and list_contains($codes, name) as is_doubtful
            from value
            group by anchor, name
        ),

        valued as (
            select
                anchor{valued},
                string_agg(
                    'two texts under ' || $headers[list_position($codes, name)]
                    || ': ' || cell || ', expected one',
                    '; ' order by name
                ) filter (where is_doubtful) as line_fault
            from named
            group by anchor
        ),

        first as (
            select anchor, min(listed_row.file_row) as file_row{firsts}
            from listed_row
            inner join staged_row on listed_row.place = staged_row.rowid
            where anchor is not null
            group by anchor
        )

        select
            {cells}, false as is_blank_row, file_row, line_fault, null::varchar as line
        from first
        left join valued on first.anchor is not distinct from valued.anchor
        union all
        select {own}{blank}, listed_row.is_blank_row, listed_row.file_row,
            listed_row.line_fault, listed_row.line
        from listed_row
        inner join staged_row on listed_row.place = staged_row.rowid
        where anchor is null
        order by file_row
        """,
        {name: one.folded for name, one in zip(by_header.values(), names, strict=True)}
        | {
            "codes": [one.folded for one in codes],
            "headers": [one.header for one in codes],
        },
    )
    con.execute("drop table staged_row")
    con.execute("alter table gathered_row rename to staged_row")


def _is_code(site_map: SiteMap, one: Name) -> bool:
    column = COLUMN_BY_NAME.get(site_map.headers_read.get(one.header, ""))
    return column is not None and column.kind == "code"


def _cell_sql(
    staged: StagedFile, listed: ListedValues, header: str, by_header: dict[str, str]
) -> str:
    """Return an anchor's cell: what its rows say of it, else what is listed."""
    if header in listed.anchor:
        return f"first.anchor[{listed.anchor.index(header) + 1}]"
    is_own = header in staged.headers and header not in listed.headers
    cells = [f"first.{staged.cell_sql(header)}"] if is_own else []
    if header in by_header:
        cells.append(f"valued.{by_header[header]}")
    return f"coalesce({', '.join(cells)})" if cells else "null::varchar"


def _file_rows(con: duckdb.DuckDBPyConnection, places: Sequence[int]) -> list[int]:
    """Return the numbers in the file of rows of staged_row."""
    return _firsts(con, "select file_row from listed_row", "place", places)


def _places(con: duckdb.DuckDBPyConnection, rows: Sequence[int]) -> tuple[int, ...]:
    """Return where in staged_row rows of the file are that were gathered."""
    return tuple(_firsts(con, "select rowid from staged_row", "file_row", rows))


def _firsts(
    con: duckdb.DuckDBPyConnection, select: str, among: str, given: Sequence[int]
) -> list[int]:
    if not given:
        return []
    found = con.execute(
        f"{select} where list_contains($given, {among}) order by 1",
        {"given": list(given)},
    )
    return [int(one) for (one,) in found.fetchall()]
