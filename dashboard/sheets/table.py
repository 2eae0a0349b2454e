"""The table of checks on a sheet, each line with its drawn interval."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dashboard.sheets.content import CheckLine
from dashboard.sheets.intervals import DRAWN_MM, draw_interval, draw_scale, reach_of
from dashboard.sheets.paper import BODY_MM, MARGIN_MM, SOFT, Paper

SIZE = 7.2
ROW_MM = 5.1
GAP_MM = 1.6
# Room for half a number of the scale beside its ends.
INSET_MM = 2.0


@dataclass(frozen=True)
class _Column:
    """`text` None: where the interval is drawn."""

    head: str
    width_mm: float
    text: Callable[[CheckLine], str] | None
    is_number: bool = True


COLUMNS = (
    _Column("Check", 23.5, lambda line: line.title, is_number=False),
    _Column("Judged", 10, lambda line: line.judged),
    _Column("Nonconf.", 11, lambda line: line.nonconforming),
    _Column("Rate (95 % interval)", 26, lambda line: line.rate),
    _Column("Others", 11, lambda line: line.others),
    _Column("Missing", 18, lambda line: line.missing),
    _Column("Range of truth", 17, lambda line: line.truth),
    _Column("", DRAWN_MM + 2 * INSET_MM, None),
    _Column("For its own mix", 24.7, lambda line: line.verdict, is_number=False),
)
assert sum(column.width_mm for column in COLUMNS) + GAP_MM * 8 <= BODY_MM


def draw_checks(paper: Paper, lines: Sequence[CheckLine]) -> None:
    """Draw the table under what is there."""
    height = ROW_MM * paper.scale
    pictures = [line.picture for line in lines if line.picture]
    reach = reach_of(pictures)
    paper.face(SIZE, bold=True, colour=SOFT)
    for column, x in _places():
        paper.put(column.head, x, column.width_mm, height, right=column.is_number)
    for column, x in _places():
        if column.text is None and pictures:
            draw_scale(paper, reach, x + INSET_MM, height, len(lines))
    paper.y += height
    for line in lines:
        _line(paper, line, reach, height)
    paper.rule()


def _line(paper: Paper, line: CheckLine, reach: float, height: float) -> None:
    paper.rule()
    is_flagged = line.picture is not None and line.picture.is_flagged
    paper.face(SIZE, bold=is_flagged)
    for column, x in _places():
        if column.text is not None:
            text = column.text(line)
            paper.put(text, x, column.width_mm, height, right=column.is_number)
        elif line.picture is not None:
            at = paper.y + height / 2
            draw_interval(paper, line.picture, reach, x + INSET_MM, at)
    paper.y += height


def _places() -> list[tuple[_Column, float]]:
    """Return each column with the left end of its box, in mm."""
    places, x = [], MARGIN_MM
    for column in COLUMNS:
        places.append((column, x))
        x += column.width_mm + GAP_MM
    return places
