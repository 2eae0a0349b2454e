"""What a file says once for all rows: above its column names, or in its name."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from etl.draft.columns import Placed
from etl.draft.header import KNOWN, Header, best_fit
from etl.draft.looks import Looks
from etl.draft.match import is_site, match
from etl.staging import title_in, unique_headers
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
_FITS = 0.99
_SUITS = 0.6


def with_titles(header: Header, placed: Sequence[Placed], decimal: str) -> Header:
    """Return the header with a column more for each title whose words name one.

    Only columns that no column of the file is placed in.
    """
    header = _with_titles_above(header, placed, decimal)
    missing = missing_said_once(header, placed) | {SITE}
    for title, text in _alone(header.rows).items():
        column = column_said_once(title, text, decimal, missing)
        if is_site(title) and SITE in missing:
            column = SITE
        if column:
            missing -= {column}
            header = _with_title_between(header, title)
            header = replace(header, titles={**header.titles, title: column})
    return header


def _with_titles_above(
    header: Header, placed: Sequence[Placed], decimal: str
) -> Header:
    missing = missing_said_once(header, placed)
    named = list(dict.fromkeys(_names(header.above)))
    for title in named:
        text = title_in(header.above, title, named)
        column = column_said_once(title, text, decimal, missing) if text else None
        if text and column:
            missing -= {column}
            header = with_told(header, title, text)
            header = replace(header, titles={**header.titles, title: column})
    return header


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


def _alone(rows: Sequence[Sequence[str]]) -> dict[str, str]:
    """Return what may be titles between the rows, with the first text behind each.

    Such a row has one cell: words with a colon, or a code with a digit, behind them.
    """
    found: dict[str, str] = {}
    for row in rows:
        cells = [cell for cell in row if cell]
        if len(cells) != 1:
            continue
        name, colon, _ = cells[0].partition(":")
        words, _, last = cells[0].rpartition(" ")
        is_numbered = any(sign.isdigit() for sign in last)
        title = name if colon else words if is_numbered else ""
        title = " ".join(title.split())
        text = title_in([cells], title, [title]) if title else None
        if text:
            found.setdefault(title, text)
    return found


def _with_title_between(header: Header, title: str) -> Header:
    """Return the header with a column of what the title says, its own rows left out."""
    header = with_told(header, title, "")
    rows, text = [], ""
    for row in header.rows:
        cells = [cell for cell in row if cell]
        said = title_in([cells], title, [title]) if len(cells) == 1 else None
        if said is None:
            rows.append([*row[:-1], text])
        text = text if said is None else said
    return replace(header, rows=rows)


def _names(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield what may be a title: words for a column, before a colon or without one."""
    for row in rows:
        for cell in row:
            name = " ".join(cell.partition(":")[0].split())
            if name and best_fit(name) >= KNOWN:
                yield name


def column_said_once(
    title: str, text: str, decimal: str, missing: Collection[str]
) -> str | None:
    """Return the column that a title names by all of its words, and its text suits."""
    looks = Looks((text,), decimal)
    for name in _SAID_ONCE:
        found = match(title, looks, COLUMN_BY_NAME[name], None)
        if found.name_fit >= _FITS and found.value_fit >= _SUITS and name in missing:
            return name
    return None
