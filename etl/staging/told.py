"""What a file says once for many rows: in a title above them, or in its name.

Each is a column more, after those of the file: so it is read, counted within, given
back and corrected as any other column is. A title between the rows holds from there on.
"""

from dataclasses import replace

import duckdb

from etl.site_map import SiteMap
from etl.site_map.beside import ANCHOR
from etl.staging.staged_file import StagedFile, trimmed, unique_headers
from etl.staging.titles import title_in
from etl.staging.titles_between import TitlesBetween, titles_between
from queries.errors import FirmsetError

# As in TitlesBetween.
Between = dict[int, list[str | None]]


def with_told(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> StagedFile:
    """Add the columns to staged_row; FirmsetError where a title is not in the file."""
    # What stands beside a title of a log on its side is an anchor's, once it is turned.
    found = TitlesBetween()
    if site_map.titles and not site_map.sideways:
        found = titles_between(con, staged, site_map)
    between = found.said
    told = [*site_map.told, *_above(staged, site_map, between)]
    if not told:
        return staged
    first = len(staged.headers) + 1
    for place, (_, text) in enumerate(told, start=first):
        con.execute(f"alter table staged_row add column c{place} varchar")
        con.execute(
            f"update staged_row set c{place} = nullif($text, '')", {"text": text}
        )
    if between:
        _change(con, between, first + len(site_map.told))
    headers = unique_headers([*staged.headers, *(name for name, _ in told)])
    said = zip(headers[first - 1 :], (text for _, text in told), strict=True)
    return replace(
        staged,
        headers=headers,
        told=tuple(said),
        title_places=found.places,
        title_words=found.words,
    )


def _above(
    staged: StagedFile, site_map: SiteMap, between: Between
) -> list[tuple[str, str]]:
    """Return the titles with what the rows above the column names say of each."""
    titles = site_map.titles
    found = [(title, title_in(staged.title_rows, title, titles)) for title in titles]
    missing = [
        repr(title)
        for number, (title, text) in enumerate(found)
        if text is None and all(said[number] is None for said in between.values())
    ]
    if missing:
        above = [
            cell for row in staged.title_rows for cell in map(trimmed, row) if cell
        ]
        listed = ", ".join(map(repr, above)) or "nothing"
        raise FirmsetError(
            f"{staged.path}: the site map {site_map.path.name} expects the title "
            f"{', '.join(missing)} above row {site_map.header_rows[0]}, where {listed} "
            "stands, or between the rows below"
        )
    return [(title, text or "") for title, text in found]


def _change(con: duckdb.DuckDBPyConnection, between: Between, first: int) -> None:
    """Let the columns from number `first` say from each row on what stands there."""
    names = [f"c{first + i}" for i in range(len(next(iter(between.values()))))]
    columns = ", ".join(f"{name} varchar" for name in names)
    con.execute(f"create or replace temp table told_row (place bigint, {columns})")
    con.executemany(
        f"insert into told_row values (?, {', '.join('?' * len(names))})",
        [[place, *texts] for place, texts in between.items()],
    )
    lasts = ", ".join(
        f"last_value(told_row.{name} ignore nulls) over so_far as {name}"
        for name in names
    )
    settings = ", ".join(
        f"{name} = nullif(coalesce(said.{name}, staged_row.{name}), '')"
        for name in names
    )
    con.execute(
        f"""
        update staged_row set {settings}
        from (
            select each_row.place, {lasts}
            from (select rowid as place from staged_row) as each_row
            left join told_row on each_row.place = told_row.place
            window so_far as (
                order by each_row.place
                rows between unbounded preceding and current row
            )
        ) as said
        where staged_row.rowid = said.place
        """
    )
    con.execute("drop table told_row")


def told_words(staged: StagedFile) -> list[str]:
    """Say what was taken once for many rows, so that a reader sees it."""
    count = len(staged.title_places)
    listed = ", ".join(
        # A workbook's day is written with its midnight.
        f"{name} = {text.removesuffix(' 00:00:00')!r}"
        for name, text in staged.told
        # Which anchor of a row it is, the part's name says.
        if (text or not count) and name != ANCHOR
    )
    # A title between the rows changes what stands above them.
    rows = "the rows before the first title" if count else "all rows"
    said = [f"said once for {rows}: {listed}"] if listed else []
    if count:
        what = "row is a title" if count == 1 else "rows are titles"
        said.append(f"{count} {what} of those below")
    return [*said, *staged.title_words]
