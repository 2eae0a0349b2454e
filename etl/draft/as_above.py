"""Cells that say "as above": ditto marks of a list that was first written by hand."""

from collections.abc import Iterable

from etl.draft.said import Said
from etl.draft.sample import Rows
from etl.month_names import weekday_named
from etl.staging import folded_mark

# Marks alone, and words. "-" is no mark: it stands for nothing as often. Common
# practice, no source.
_MARKS = (
    *('"', "''", "''''", ",,", "“", "”", "„", "‟", "″", "〃", "´´", "``", "‘‘", "’’"),
    *("«", "»", "<<", ">>", "^", "↑", "↓", "⋮"),
)
_WORDS = (
    *("do", "do.", "ditto", "dito", "dto", "dto.", "dtto", "idem", "ídem", "id."),
    *("same", "same as above", "as above", "s.o.", "w.o.", "wie oben", "wie vor"),
    *("siehe oben", "comme ci-dessus", "ci-dessus", "même", "igual", "como arriba"),
    *("lo mismo", "mismo", "como acima", "mesmo", "come sopra", "c.s.", "stesso"),
    *("zie boven", "zelfde", "j.w.", "jak wyżej", "jako výše", "som ovan", "som over"),
)
_DASHES = "-–—‐‑‒"
_KNOWN = {folded_mark(mark) for mark in (*_MARKS, *_WORDS)}


def with_marks_read(rows: Rows) -> tuple[Rows, Said[tuple[str, ...]] | None]:
    """Return rows of data with what such cells repeat, and the marks they have.

    None: there are none. A column that begins with one repeats nothing, and a word that
    is a weekday among others, as "Do", is none there.
    """
    width = max(map(len, rows), default=0)
    columns = [
        [row[place] if place < len(row) else "" for row in rows]
        for place in range(width)
    ]
    # A title between the rows is one cell.
    own_rows = [sum(map(bool, row)) > 1 for row in rows]
    found: list[str] = []
    for place, cells in enumerate(columns):
        its = [cell for cell in cells if is_mark(cell)]
        if its and not is_mark(cells[0]) and not _are_days(cells):
            columns[place] = _repeated(cells, own_rows)
            found += its
    if not found:
        return rows, None
    reason = f"{_count_words(len(found))} nothing else: as in the cell above"
    marks = {folded_mark(mark): mark for mark in reversed(found)}
    filled = [
        [cells[number] for cells in columns[: len(row)]]
        for number, row in enumerate(rows)
    ]
    return filled, Said(tuple(marks.values()), "likely", reason)


def _count_words(count: int) -> str:
    """Return how many cells hold something."""
    return "1 cell holds" if count == 1 else f"{count} cells hold"


def is_mark(cell: str) -> bool:
    """Say whether a cell holds nothing but what may mean "as above"."""
    return folded_mark(cell).strip(_DASHES) in _KNOWN


def _are_days(cells: Iterable[str]) -> bool:
    others = (cell for cell in cells if cell and not is_mark(cell))
    return any(weekday_named(cell) is not None for cell in others)


def _repeated(cells: Iterable[str], own_rows: Iterable[bool]) -> list[str]:
    """Return the cells of a column, each mark as the cell above it.

    That of a row which is blank or a title, false in `own_rows`, is not above it.
    """
    found: list[str] = []
    above = ""
    for cell, is_own in zip(cells, own_rows, strict=True):
        said = above if is_mark(cell) else cell
        found.append(said)
        above = said if is_own else above
    return found
