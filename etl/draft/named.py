"""Which cells may name a column, and how well they name the best one."""

from functools import cache

from etl.draft.dates import is_date, is_time
from etl.draft.match import name_fit
from etl.draft.numbers import header_readings, measured
from etl.draft.words import words

_LONGEST_NAME = 80
KNOWN = 0.7


def may_be_name(cell: str) -> bool:
    """Say whether a cell may be a column's name: no number, date or time."""
    return (
        0 < len(cell) <= _LONGEST_NAME
        and measured(cell, ".") is None
        and measured(cell, ",") is None
        and not is_date(cell)
        and not is_time(cell)
    )


def best_fit(cell: str) -> float:
    """Return how well a cell names the column that it names best."""
    return best_named(cell)[0]


@cache
def best_named(cell: str) -> tuple[float, str]:
    """Return how well a cell names a column, and which, of that which it names best."""
    return max(
        (name_fit(reading.words, name), name)
        for reading in header_readings(cell)
        for name in words().columns
    )
