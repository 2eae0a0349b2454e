"""Dates far from all others of their file: mostly a year that was mistyped."""

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

# Half a year without a row parts the dates of a file; few beyond it are a question.
APART: Final = timedelta(days=180)
FEW_FRAC: Final = 0.05


def far_words(by_day: Sequence[tuple[date, int]]) -> list[str]:
    """Ask about the few rows of a file far from the others.

    `by_day`: each day with its rows, in order.
    """
    parts = _parted(by_day)
    near = max(parts, key=_rows, default=[])
    far = [each for part in parts if part is not near for each in part]
    rows, all_rows = _rows(far), _rows(by_day)
    if not 0 < rows <= FEW_FRAC * all_rows:
        return []
    are = "is" if rows == 1 else "are"
    said = (
        f"{rows} of {all_rows} rows {are} dated half a year or more from the others "
        f"({near[0][0]} to {near[-1][0]}), as {far[0][0]}: a question whether the year "
        "is right; nothing was changed"
    )
    return [said]


def _parted(by_day: Sequence[tuple[date, int]]) -> list[Sequence[tuple[date, int]]]:
    """Return the days in parts, half a year or more between them."""
    starts = [
        place
        for place, (one, other) in enumerate(pairwise(by_day), start=1)
        if other[0] - one[0] >= APART
    ]
    ends = [*starts, len(by_day)]
    return [by_day[start:end] for start, end in zip([0, *starts], ends, strict=True)]


def _rows(days: Sequence[tuple[date, int]]) -> int:
    return sum(rows for _, rows in days)
