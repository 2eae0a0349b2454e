"""Marks beside the figures of a column, `58 i.O.`: a site's own verdicts."""

import re
from collections import Counter
from dataclasses import replace

from etl.draft.bare import OFTEN, is_named, read_cells
from etl.draft.header import Header
from etl.draft.looks import Looks, looks_of
from etl.draft.numbers import measured
from etl.draft.words import plain, words
from etl.site_map.marks import MOST_MARKS, may_be_mark

_FIGURES = ("number", "integer")
_MOST_WORDS = 3
# What stands at either end without a blank between it and the figure.
_SIGN_BEHIND = re.compile(r"(.*[^\W_])\s*([^\w\s.,]+)")


def with_marks(header: Header, decimal: str) -> Header:
    """Return the header with figures for cells that have marks beside them.

    Only under names of figures: `2. OG` is where an anchor is, not how deep.
    """
    marks, rows = {}, header.rows
    for place in range(len(header.names)):
        looks = looks_of(header.rows, place, decimal)
        if looks.number_share + looks.clear_share >= OFTEN:
            continue
        found = _marks_of(looks)
        if not found:
            continue
        bare = read_cells(rows, place, lambda cell: _unmarked(cell, decimal))
        if is_named(header, place, looks_of(bare, place, decimal), _FIGURES):
            marks[place], rows = found, bare
    return replace(header, rows=rows, marks=marks) if marks else header


def _marks_of(looks: Looks) -> tuple[str, ...]:
    """Return the marks beside a column's figures, the commonest first; or none."""
    parted = [
        _parted(cell, looks.decimal)
        for cell in looks.filled
        if not measured(cell, looks.decimal)
    ]
    marks = Counter(one[1] for one in parted if one)
    return tuple(mark for mark, _ in marks.most_common(MOST_MARKS))


def _parted(cell: str, decimal: str) -> tuple[str, str] | None:
    """Return a cell's figure and the mark beside it; None where it has not both."""
    said = cell.split()
    ways = []
    for count in range(1, min(_MOST_WORDS, len(said) - 1) + 1):
        ways.append((" ".join(said[:-count]), " ".join(said[-count:])))
        ways.append((" ".join(said[count:]), " ".join(said[:count])))
    for text in (cell.strip(), cell.strip()[::-1]):
        if found := _SIGN_BEHIND.fullmatch(text):
            step = 1 if text == cell.strip() else -1
            ways.append((found[1][::step], found[2][::step]))
    return next(
        (
            (figure, mark)
            for figure, mark in ways
            if _is_verdict(mark) and measured(figure, decimal)
        ),
        None,
    )


def _is_verdict(mark: str) -> bool:
    """Say whether a mark is a sign, or a word for good and bad.

    Any other word may be a unit that nobody here knows: 45 kp.
    """
    said, known = plain(mark), words()
    is_known = said in known.verdicts or said in known.codes["yes_no"]
    return may_be_mark(mark) and (not said or is_known)


def _unmarked(cell: str, decimal: str) -> str:
    parted = None if measured(cell, decimal) else _parted(cell, decimal)
    return parted[0] if parted else cell
