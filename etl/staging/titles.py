"""What stands behind a title, above the column names or between the rows."""

import re
from collections.abc import Collection, Sequence

from etl.staging.staged_file import trimmed

Rows = Sequence[Sequence[str]]

# Not that of a time of day.
_COLON = re.compile(r"(?<!\d):|:(?!\d)")
# Between what stands behind a title and the name of a further one in its cell.
_PARTS = " ,;|\t\n"
_LONGEST_LINE = 1000
_PART_BEFORE = r"(?:[-\u2013\u2014,;/|·(]\s*|(?:^|\s)(?:\S*\d\S*|\w)\s+)"
# One word, or two where the first is a code.
_CODE_BEHIND = r"(?:\s*[-\u2013\u2014:]\s*|\s+)(?P<text>\S*\d\S*(?:\s+\S+)?|\S+)$"
_PARTED = re.compile(r"(?:\s{2,}|\s*[,;|\t\n]\s*)(?P<name>[^\W\d][^,;|\t\n]*)$")


def title_in(rows: Rows, title: str, titles: Collection[str]) -> str | None:
    """Return what stands behind a title, "" where nothing does; None: no such title.

    Behind its colon in the same cell, else in the next filled cell to its right, else
    in the cell below; or behind a blank in the same cell, where the title does not
    stand otherwise, at its beginning or behind the name of a part, see `_behind_part`.
    What is a title itself (`titles`, or ends in a colon) is none. A cell may have
    several titles, see `titled`. Capitals do not count.
    """
    title, titles = title.lower(), {one.lower() for one in titles}
    cells = [[trimmed(cell) for cell in row] for row in rows]
    for number, row in enumerate(cells):
        for place, cell in enumerate(row):
            is_title = title == cell.lower()
            named = [(cell, "")] if is_title else titled(rows[number][place], titles)
            behind = next((text for name, text in named if name.lower() == title), None)
            if behind is None:
                continue
            if behind or named[-1][0].lower() != title:
                return behind
            right = next(filter(None, row[place + 1 :]), "")
            below = cells[number + 1][place : place + 1] if cells[number + 1 :] else []
            texts = (right, *below)
            return next((text for text in texts if _is_value(text, titles)), "")
    every = [cell for row in cells for cell in row]
    behind_blank = (
        " ".join(cell.split(" ")[len(title.split()) :])
        for cell in every
        if cell.lower().startswith(f"{title} ") and ":" not in cell
    )
    behind_part = (_behind_part(cell, title, titles) for cell in every)
    return next(behind_blank, None) or next(filter(None, behind_part), None)


def _behind_part(cell: str, title: str, titles: Collection[str]) -> str | None:
    """Return what stands behind a title behind the name of a part of the building.

    As 2 in "Level 1 - Crew 2": behind a sign, a number or a letter alone, and a code or
    one name. "No. of crew 4" names another thing, and so may another title that is
    longer.
    """
    if title not in cell.lower() or len(cell) > _LONGEST_LINE:
        return None
    found = re.search(rf"{_PART_BEFORE}{re.escape(title)}{_CODE_BEHIND}", cell, re.I)
    if found is None or _COLON.search(cell[: found.start("text") - 1].rstrip(" :")):
        return None
    if any(title in one and one != title and one in cell.lower() for one in titles):
        return None
    text = found["text"]
    return text if _has_digit(text.split()[0]) or text[0].isupper() else None


def titled(cell: str, titles: Collection[str] = ()) -> list[tuple[str, str]]:
    """Return the titles in a cell, each with the text behind its colon.

    As in "Date: 4 May   Crew: C 7": a further title stands behind two blanks, a comma,
    a semicolon, a bar, a tab or a line break, or is one of `titles` behind a blank. A
    cell longer than a line of a form has one title.
    """
    colons = list(_COLON.finditer(cell))
    if len(cell) > _LONGEST_LINE:
        colons = colons[:1]
    if not colons:
        return []
    found, name, start = [], cell[: colons[0].start()], colons[0].end()
    for colon in colons[1:]:
        between = cell[start : colon.start()].rstrip()
        at = _name_at(between, titles)
        if at is not None:
            found.append((name, between[:at].rstrip(_PARTS)))
            name, start = between[at:], colon.end()
    found.append((name, cell[start:]))
    return [(trimmed(name), trimmed(text)) for name, text in found]


def _name_at(between: str, titles: Collection[str]) -> int | None:
    """Return where the name of a further title begins, which ends what is given."""
    known = [
        title for title in titles if re.search(rf"\s{re.escape(title)}$", between, re.I)
    ]
    if known:
        return len(between) - len(max(known, key=len))
    found = _PARTED.search(between)
    return found.start("name") if found else None


def _has_digit(text: str) -> bool:
    return any(map(str.isdigit, text))


def _is_value(text: str, titles: Collection[str]) -> bool:
    return text != "" and not text.endswith(":") and text.lower() not in titles
