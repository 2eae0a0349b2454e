"""The titles between the rows of a table, and rows that look like one and are none.

What a title says holds from there on: past a row that may be the next one and cannot be
read, no row may keep it in silence.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import duckdb

from etl.site_map import SiteMap
from etl.staging.header_order import has_no_date_sql
from etl.staging.staged_file import StagedFile, trimmed
from etl.staging.titles import title_in

# A row with more cells filled is one of the table, unless it lacks its day.
MOST_CELLS = 2
_MOST_SHOWN = 3
_MOST_SAID = 12


# A row's number and its words.
Row = tuple[int, str]


@dataclass(frozen=True)
class TitlesBetween:
    """By the row's place in staged_row what its titles say, None where they say none.

    "" where nothing stands behind a title, or what stands there cannot be read: such a
    row is not among `places`, for it may be a row of the table. `words` are what is to
    be said of rows that look like titles.
    """

    said: dict[int, list[str | None]] = field(default_factory=dict)
    places: tuple[int, ...] = ()
    words: tuple[str, ...] = ()


def titles_between(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> TitlesBetween:
    """Return what the rows of staged_row say that are titles, or may be."""
    titles, said = site_map.titles, dict[int, list[str | None]]()
    lost, doubted = dict[int, Row](), dict[int, Row]()
    read, firsts = dict[int, int](), dict[int, tuple[int, str]]()
    openings = dict(_openings(staged.title_rows, titles))
    for place, row, is_lone, is_alone, *texts in _candidates(con, staged, site_map):
        cells = [trimmed(text) for text in texts]
        line = _line_of(cells) if is_lone else next(filter(None, cells))
        found = _said(cells, line, titles)
        unread = _unread(line, titles, openings) if is_lone else set[str]()
        if any(text is not None for text in found):
            said[place], read[place] = found, row
            openings |= _openings([[line]], titles)
        elif unread:
            said[place] = ["" if title in unread else None for title in titles]
            lost[place] = (row, line)
        elif is_alone:
            doubted[place] = (row, line)
            firsts[place] = next((i, cell) for i, cell in enumerate(cells) if cell)
    for place in _begun(con, firsts):
        del doubted[place]
    last = _last_place(con, [*said, *doubted])
    return TitlesBetween(
        said,
        tuple(place for place in said if place not in lost),
        (
            *_read_words(titles, said, read),
            *_words(_before(lost, last), _before(doubted, last)),
        ),
    )


def _candidates(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> list[tuple[int, int, bool, bool, *tuple[str, ...]]]:
    """Return the rows that begin with a title, and those that stand alone.

    Place, number, whether it may stand alone, whether it does, though the rows of the
    table had no more cells; cells.
    """
    cells = [f"coalesce(c{i + 1}, '')" for i in range(staged.width)]
    parameters = {"titles": [title.lower() for title in site_map.titles]}
    is_lone = _is_lone_sql(staged, site_map, cells, MOST_CELLS)
    is_alone = _is_lone_sql(staged, site_map, cells, 1)
    if "$not_rows" in is_lone:
        parameters["not_rows"] = [word.lower() for word in site_map.not_rows]
    return con.execute(
        f"""
        select place, row_number, is_lone, is_alone, columns('^t[0-9]+$')
        from (
            select
                rowid as place, {staged.row_sql} as row_number,
                {is_lone} as is_lone, {is_alone} as is_alone,
                {staged.begins_sql("titles")} as begins,
                {", ".join(f"{cell} as t{i}" for i, cell in enumerate(cells))}
            from staged_row
            where
                not is_blank_row
                and not ({staged.is_repeated_header_sql})
                and not ({staged.is_footer_sql})
        )
        where begins or is_lone
        order by place
        """,
        {**parameters, **staged.shape_parameters},
    ).fetchall()


def _is_lone_sql(
    staged: StagedFile, site_map: SiteMap, cells: Iterable[str], most: int
) -> str:
    """Return the condition that a row has few cells, or no day where the rows have one.

    A list of values has a row for each, of few cells.
    """
    if site_map.listed:
        return "false"
    filled = f"len(list_filter([{', '.join(cells)}], lambda cell: trim(cell) != ''))"
    lacks_day = has_no_date_sql(staged, site_map) or "false"
    is_row = f"not {staged.begins_sql('not_rows')} and " if site_map.not_rows else ""
    return f"{is_row}({filled} <= {most} or {lacks_day})"


def _last_place(con: duckdb.DuckDBPyConnection, titles: Sequence[int]) -> int:
    """Return the place of the last row that may be one of the table; -1: of none."""
    [(last,)] = con.execute(
        "select coalesce(max(rowid), -1) from staged_row "
        "where not is_blank_row and not list_contains(?::bigint[], rowid)",
        [titles],
    ).fetchall()
    return int(last)


def _before(rows: dict[int, Row], last: int) -> list[Row]:
    return [row for place, row in rows.items() if place < last]


def _line_of(cells: Sequence[str]) -> str:
    """Return what a row says that stands alone; behind a bare number is a note."""
    filled = [cell for cell in cells if cell]
    is_worded = any(map(str.isalpha, filled[0]))
    if len(filled) > MOST_CELLS or not is_worded:
        return filled[0]
    return " - ".join(filled)


def _said(cells: Sequence[str], line: str, titles: Sequence[str]) -> list[str | None]:
    first = next(filter(None, cells))
    if any(title_in([[first]], title, titles) is not None for title in titles):
        return [title_in([cells], title, titles) for title in titles]
    return [title_in([[line]], title, titles) for title in titles]


def _openings(
    rows: Iterable[Sequence[str]], titles: Sequence[str]
) -> Iterator[tuple[str, set[str]]]:
    """Yield the word that stands before titles in a cell, as "level", with these."""
    for cell in (trimmed(cell) for row in rows for cell in row):
        said = {title for title in titles if title_in([[cell]], title, titles)}
        opening = _first_word(cell)
        if said and not any(title.lower().startswith(opening) for title in said):
            yield opening, said


def _first_word(line: str) -> str:
    found = re.match(r"\w+", line.lower())
    return found[0] if found else ""


def _unread(
    line: str, titles: Sequence[str], openings: dict[str, set[str]]
) -> set[str]:
    """Return the titles that a row resembles, none of which is read there.

    One with a number in it, or with a code behind it; or those of a row that began so.
    """
    shape = _shape(line)
    resembled = {
        title
        for title in titles
        if ("0" in _shape(title) and _shape(title) in shape)
        or re.search(rf"(?<!\w){re.escape(_shape(title))}\W*([^\W\d]+\W+)?\w*0", shape)
    }
    return resembled or openings.get(_first_word(line), set())


def _shape(text: str) -> str:
    return re.sub(r"[0-9]+", "0", text.lower())


def _begun(
    con: duckdb.DuckDBPyConnection, firsts: dict[int, tuple[int, str]]
) -> list[int]:
    """Return which of these rows begin as others do: rows of the table, hardly filled.

    `firsts` holds, by place, the first filled cell: its column, from 0, and its text.
    """
    found = []
    for column in {column for column, _ in firsts.values()}:
        shapes = {
            place: _shape(text)
            for place, (own, text) in firsts.items()
            if own == column
        }
        rows = con.execute(
            f"""
            select distinct
                regexp_replace(lower(trim(c{column + 1})), '[0-9]+', '0', 'g')
                as shape
            from staged_row anti join unnest($lone::bigint[]) as lone (place)
                on staged_row.rowid = lone.place
            where list_contains($shapes::varchar[], shape)
            """,
            {"lone": list(firsts), "shapes": list(set(shapes.values()))},
        ).fetchall()
        known = {shape for (shape,) in rows}
        found += [place for place, shape in shapes.items() if shape in known]
    return found


def _read_words(
    titles: Sequence[str], said: dict[int, list[str | None]], read: dict[int, int]
) -> Iterator[str]:
    """Yield, of each title, what the rows say of it: a note would stand out there."""
    for number, title in enumerate(titles):
        rows = dict[str, int]()
        for place, row in read.items():
            text = said[place][number]
            if text:
                rows.setdefault(text, row)
        if rows:
            shown = list(rows.items())[:_MOST_SAID]
            listed = ", ".join(f"{text!r} (row {row})" for text, row in shown)
            more = len(rows) - len(shown)
            yield f"titles of {title}: {listed}" + (f" and {more} more" * (more > 0))


def _words(lost: Sequence[Row], doubted: Sequence[Row]) -> tuple[str, ...]:
    said = []
    if lost:
        said.append(
            f"rows that look like titles and cannot be read as such: {_listed(lost)}; "
            "the rows below have none, up to the next title; expected what it says "
            "behind the title's own words, or the row named under not_rows"
        )
    if doubted:
        said.append(
            f"rows alone that are not read as titles: {_listed(doubted)}: a question "
            "whether the title above still holds below; if it does, name the row under "
            "not_rows"
        )
    return tuple(said)


def _listed(rows: Sequence[Row]) -> str:
    shown = ", ".join(f"{row} ({line!r})" for row, line in rows[:_MOST_SHOWN])
    more = len(rows) - _MOST_SHOWN
    return f"{shown} and {more} more" if more > 0 else shown
