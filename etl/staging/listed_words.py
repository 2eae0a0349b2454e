"""What a receipt says of a log that lists its values, one a row."""

from collections.abc import Iterator, Mapping, Sequence

import duckdb

from etl.site_map import ListedValues, SiteMap
from etl.staging.listed_rows import Name, text_of
from etl.staging.staged_file import StagedFile

_MOST_SAID = 5


def words_of_listed(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    listed: ListedValues,
    names: Sequence[Name],
) -> tuple[str, ...]:
    """Return what a reader is to know of the gathered rows; listed_row is there.

    What is named that the map does not read, what it reads that is not in the file, and
    which columns say different things of an anchor.
    """
    read = site_map.headers_read
    own = [
        header
        for header in staged.headers
        if header in read and header not in listed.headers
    ]
    entries = _entries(con, staged, own)
    in_file = {*listed.headers, *(one.header for one in names)}
    in_file |= {header for header, (filled, _) in entries.items() if filled}
    return (
        _count_words(con),
        *_unread_words(listed, [one for one in names if one.header not in read]),
        *_lacking_words([repr(header) for header in read if header not in in_file]),
        *_differing_words(entries),
    )


def _count_words(con: duckdb.DuckDBPyConnection) -> str:
    [(rows, anchors)] = con.execute(
        "select count(*), count(distinct anchor) from listed_row "
        "where anchor is not null"
    ).fetchall()
    said = f"{_count(rows, 'row')} of {_count(anchors, 'anchor')}"
    return f"values listed, one a row: {said}"


def _unread_words(listed: ListedValues, names: Sequence[Name]) -> Iterator[str]:
    if names:
        ordered = sorted(names, key=lambda one: -one.rows)
        said = [f"{one.header!r} ({_count(one.rows, 'row')})" for one in ordered]
        yield f"under {listed.name}, not read: {_and_more(said)}"


def _lacking_words(headers: Sequence[str]) -> Iterator[str]:
    if headers:
        yield f"read, but not in this file: {_and_more(headers)}"


def _differing_words(entries: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    for header, (_, differing) in entries.items():
        if differing:
            anchors = _count(differing, "anchor")
            yield f"{header}: rows of {anchors} differ, the first of each is taken"


def _count(number: int, what: str) -> str:
    return f"1 {what}" if number == 1 else f"{number:,} {what}s"


def _and_more(said: Sequence[str]) -> str:
    more = len(said) - _MOST_SAID
    listed = ", ".join(said[:_MOST_SAID])
    return f"{listed} and {more} more" if more > 0 else listed


def _entries(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, headers: Sequence[str]
) -> dict[str, tuple[int, int]]:
    """Return of how many anchors a column says anything, and different things."""
    if not headers:
        return {}
    counts = ", ".join(
        f"count(distinct {text_of(staged, header)}) as n{number}"
        for number, header in enumerate(headers)
    )
    sums = ", ".join(
        f"count(*) filter (where n{number} > 0), count(*) filter (where n{number} > 1)"
        for number in range(len(headers))
    )
    [found] = con.execute(
        f"""
        select {sums}
        from (
            select {counts}
            from listed_row
            inner join staged_row on listed_row.place = staged_row.rowid
            where anchor is not null
            group by anchor
        )
        """
    ).fetchall()
    return dict(zip(headers, zip(found[::2], found[1::2], strict=True), strict=True))
