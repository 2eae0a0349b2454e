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
_PARTED = re.compile(r"(?:\s{2,}|\s*[,;|\t\n]\s*)(?P<name>[^\W\d][^,;|\t\n]*)$")


def title_in(rows: Rows, title: str, titles: Collection[str]) -> str | None:
    """Return what stands behind a title, "" where nothing does; None: no such title.

    Behind its colon in the same cell, else in the next filled cell to its right, else
    in the cell below; or behind a blank in the same cell, where the title does not
    stand otherwise. What is a title itself (`titles`, or ends in a colon) is none. A
    cell may have several titles, see `titled`.
    """
    cells = [[trimmed(cell) for cell in row] for row in rows]
    for number, row in enumerate(cells):
        for place, cell in enumerate(row):
            is_title = title == cell
            named = [(cell, "")] if is_title else titled(rows[number][place], titles)
            behind = next((text for name, text in named if name == title), None)
            if behind is None:
                continue
            if behind or named[-1][0] != title:
                return behind
            right = next(filter(None, row[place + 1 :]), "")
            below = cells[number + 1][place : place + 1] if cells[number + 1 :] else []
            texts = (right, *below)
            return next((text for text in texts if _is_value(text, titles)), "")
    behind_blank = (
        cell.removeprefix(f"{title} ")
        for row in cells
        for cell in row
        if cell.startswith(f"{title} ") and ":" not in cell
    )
    return next(behind_blank, None)


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
    known = [title for title in titles if re.search(rf"\s{re.escape(title)}$", between)]
    if known:
        return len(between) - len(max(known, key=len))
    found = _PARTED.search(between)
    return found.start("name") if found else None


def _is_value(text: str, titles: Collection[str]) -> bool:
    return text != "" and not text.endswith(":") and text not in titles
