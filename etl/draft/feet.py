"""Rows below the column names that are no anchors: signatures, pages, totals."""

import re
from collections.abc import Iterable, Sequence

from etl.draft.named import may_be_name
from etl.draft.sample import Rows
from etl.staging import TOTAL_WORDS

_MOST_IN_FOOT = 4
_TOTAL = re.compile(rf"({TOTAL_WORDS})($|\W)", re.IGNORECASE)
_PAGE = re.compile(
    r"(?P<word>page|seite|blatt|feuille|página|pág|hoja|folha|pagina|foglio|blad)\b"
    r"[^\d]{0,4}\d{1,4}\b",
    re.IGNORECASE,
)


def without_feet(rows: Rows) -> tuple[Rows, tuple[str, ...]]:
    """Return the rows without those that end a form or a page, and how these begin.

    A load knows a total by itself.
    """
    end, feet = len(rows), list[str]()
    while end > 0:
        cells = _filled(rows[end - 1])
        word = " ".join(cells[0].partition(":")[0].split()) if cells else ""
        if cells and not _is_total(cells):
            page = _page_word(cells)
            is_foot = ":" in cells[0] and may_be_name(word)
            if len(cells) > _MOST_IN_FOOT or not (page or is_foot):
                break
            feet.append(page or word)
        end -= 1
    if not end:
        return rows, ()
    kept = [(row, _filled(row)) for row in rows[:end]]
    words = {word.lower(): word for word in reversed(feet)}
    words |= {page.lower(): page for _, cells in kept if (page := _page_word(cells))}
    # A row of the log may begin so, too: what a load leaves out are all that do.
    for _, cells in kept:
        if len(cells) > _MOST_IN_FOOT:
            words = {
                word: said for word, said in words.items() if not _begins(cells, [word])
            }
    data = [row for row, cells in kept if not _begins(cells, words)]
    return data, tuple(words.values())


def is_known_by_load(row: Sequence[str], names: Sequence[str]) -> bool:
    """Say whether a load takes a row for no anchor by itself.

    The column names once more, as on each page, or a total of few cells.
    """
    cells = _filled(row)
    return cells == _filled(names) or (len(cells) <= _MOST_IN_FOOT and _is_total(cells))


def _is_total(cells: Sequence[str]) -> bool:
    """Say whether the first cell is a word for a total."""
    return bool(cells) and _TOTAL.match(cells[0]) is not None


def _filled(row: Sequence[str]) -> list[str]:
    return [cell for cell in row if cell]


def _begins(cells: Sequence[str], words: Iterable[str]) -> bool:
    return bool(cells) and cells[0].lower().startswith(tuple(words))


def _page_word(cells: Sequence[str]) -> str | None:
    """Return the word that a row of few cells begins with and that numbers a page."""
    found = _PAGE.match(cells[0]) if 0 < len(cells) <= _MOST_IN_FOOT else None
    return found["word"] if found else None
