"""What a file says once for all rows: above its column names, or in its name."""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import is_site, match
from etl.draft.named import KNOWN, best_fit
from etl.draft.placed import Placed
from etl.staging import title_in, titled, unique_headers
from queries.columns import COLUMN_BY_NAME

# What holds for a whole sheet. No measure is among them: a torque in a title is the
# one required, not one that was set. Common practice, no source.
_SAID_ONCE = (
    *("installed_on", "crew_code", "setting_code", "installer_code", "inspector_code"),
    *("work_area", "wrench_code", "bit_code", "drill_method", "orientation"),
    "base_material",
)
# Between the rows a title may also say whose they are. No column is: a map for several
# sites says what names them.
SITE = "site"
# Up to three words before a colon that is none of a time of day.
_BEFORE_COLON = re.compile(
    r"(?P<words>(?:[^\W\d][^\s:,;|]*\s){0,2}[^\W\d][^\s:,;|]*)\s*:(?!\d)"
)
_FITS = 0.99
_SUITS = 0.6


def with_titles(header: Header, placed: Sequence[Placed], decimal: str) -> Header:
    """Return the header with a column more for each title whose words name one.

    Only columns that no column of the file is placed in.
    """
    header = _with_titles_above(header, placed, decimal)
    missing = missing_said_once(header, placed) | {SITE}
    alone = [cells[0] for row in header.rows if len(cells := _filled(row)) == 1]
    found: dict[str, str] = {}
    for title, text in _alone(alone).items():
        looks = Looks((text,), decimal, header.held)
        column = column_said_once(title, looks, missing)
        if is_site(title) and SITE in missing:
            column = SITE
        if column:
            missing -= {column}
            found[title] = column
    return _with_titles_between(header, found | _ends(alone, found))


def _with_titles_above(
    header: Header, placed: Sequence[Placed], decimal: str
) -> Header:
    missing = missing_said_once(header, placed)
    cells = [cell for row in header.above for cell in row]
    named = list(dict.fromkeys([*_names(header.above), *_before_codes(header)]))
    ends = _ends(cells, named)
    found: dict[str, str] = {}
    for title in named:
        text = title_in(header.above, title, [*named, *ends])
        looks = Looks((text or "",), decimal, header.held)
        column = column_said_once(title, looks, missing) if text else None
        if column:
            missing -= {column}
            found[title] = column
    titles = found | ends if found else {}
    for title in titles:
        text = title_in(header.above, title, [*named, *ends]) or ""
        header = with_told(header, title, text)
    return replace(header, titles=titles)


def missing_said_once(header: Header, placed: Sequence[Placed]) -> set[str]:
    """Return the columns that may be said once for all rows, and are not said yet."""
    taken = {one.column.name for one in placed if one.said.is_active}
    if "installed_at" in taken:
        taken.add("installed_on")
    return {*_SAID_ONCE} - taken - {*header.titles.values()}


def with_told(header: Header, name: str, text: str, bare: str = "") -> Header:
    """Return the header with a column more that holds one text in every row.

    `bare`: what it is called, where that is not its `name`.
    """
    width = len(header.names)
    padded = ([*row[:width], *[""] * (width - len(row))] for row in header.rows)
    names = unique_headers([*header.names, name])
    return replace(
        header,
        names=names,
        bare=(*header.bare, bare or name),
        said_once=(*header.said_once, names[-1]),
        units=(*header.units, None),
        rows=[[*row, text] for row in padded],
    )


def _alone(cells: Iterable[str]) -> dict[str, str]:
    """Return what may be titles between the rows, with the first text behind each.

    Such a row has one cell: words with a colon, or a code of a letter or with a digit,
    behind them.
    """
    found: dict[str, str] = {}
    for cell in cells:
        name, colon, rest = cell.partition(":")
        words, _, last = cell.rpartition(" ")
        is_code = any(sign.isdigit() for sign in last)
        is_code = is_code or (len(last) == 1 and last.isupper())
        first = name if colon else words if is_code else ""
        titles = [" ".join(first.split()), *_known_in(rest)]
        for title in filter(None, titles):
            text = title_in([[cell]], title, titles)
            if text:
                found.setdefault(title, text)
    return found


def _with_titles_between(header: Header, titles: dict[str, str]) -> Header:
    """Return the header with a column for each title, its own rows left out."""
    for title in titles:
        header = with_told(header, title, "")
    rows, said = [], dict.fromkeys(titles, "")
    for row in header.rows:
        cells = _filled(row)
        found = {
            title: text
            for title in (titles if len(cells) == 1 else ())
            if (text := title_in([cells], title, titles)) is not None
        }
        said |= found
        if not found:
            rows.append([*row[: len(row) - len(titles)], *said.values()])
    return replace(header, rows=rows, titles=header.titles | titles)


def _filled(row: Sequence[str]) -> list[str]:
    return [cell for cell in row if cell]


def _names(rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Yield what may be a title: words for a column, before a colon or without one.

    Behind another title "C2" is a crew, though it names an edge distance, too.
    """
    for row in rows:
        is_behind = False
        for cell in _filled(row):
            first, colon, rest = cell.partition(":")
            name = " ".join(first.split())
            is_code = not colon and any(sign.isdigit() for sign in name)
            is_name = name and best_fit(name) >= KNOWN and not (is_code and is_behind)
            if is_name:
                yield name
            yield from _known_in(rest)
            is_behind = is_name or cell.rstrip().endswith(":")


def _before_codes(header: Header) -> Iterator[str]:
    """Yield what stands before a setting code that the store holds."""
    for row in header.above:
        in_cells = (cell.partition(":")[::2] for cell in row)
        for name, text in (*pairwise(_filled(row)), *in_cells):
            words = " ".join(name.strip().removesuffix(":").split())
            if words and header.held.has("setting_code", text.strip()):
                yield words


def _known_in(text: str) -> Iterator[str]:
    """Yield the further titles in a cell, of up to three words before a colon."""
    for found in _BEFORE_COLON.finditer(text):
        words = found["words"].split()
        names = [" ".join(words[start:]) for start in range(len(words))]
        yield from [n for n in names if best_fit(n) >= KNOWN or is_site(n)][:1]


def _ends(cells: Iterable[str], titles: Collection[str]) -> dict[str, str]:
    """Return titles of no column that end what stands behind two others of a cell.

    As "Shift" in "Date: 4 May Crew: 7 Shift: day", where blanks alone part them.
    """
    ends: dict[str, str] = {}
    for cell in cells:
        behind = [text for name, text in titled(cell, titles) if name in titles]
        for text in behind if len(behind) > 1 else ():
            for found in _BEFORE_COLON.finditer(text):
                ends[found["words"].split()[-1]] = ""
    return ends


def column_said_once(title: str, looks: Looks, missing: Collection[str]) -> str | None:
    """Return the column that a title names by all of its words, and its text suits.

    Or the setting code, where the store has the text as one.
    """
    if "setting_code" in missing and looks.held_share("setting_code") == 1:
        return "setting_code"
    for name in _SAID_ONCE:
        found = match(title, looks, COLUMN_BY_NAME[name], None)
        if found.name_fit >= _FITS and found.value_fit >= _SUITS and name in missing:
            return name
    return None
