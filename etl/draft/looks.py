"""What the values of one column of a file look like."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import median

from etl.draft.dates import has_time, is_date, is_time
from etl.draft.held import NOTHING_HELD, Held
from etl.draft.numbers import Measured, measured
from etl.draft.words import plain_or_sign, words
from etl.odd_dates import is_day_number, is_since_1970
from etl.odd_numbers import is_minutes

# As a load reads it: is_blank in etl/cells.sql.
BLANK = re.compile(
    r"-{0,3}|[‐‑‒–—]{1,3}|_{2,}|[.…]{2,}|…|n/a|n\.\s?a\.|n/r|na|null", re.IGNORECASE
)
_SHORT = 24
# A unit in fewer of the cells is a slip of the pen, and so is none.
_FEW = 0.1
_HALF = 0.5
# Figures in one unit lie within this factor of each other; in centimetres and in
# millimetres they do not.
_NEAR = 2.0


@dataclass(frozen=True)
class Looks:
    """The cells of one column; shares are of the cells that are not blank.

    `held`: what the store holds that the cells may be.
    """

    cells: tuple[str, ...]
    decimal: str
    held: Held = NOTHING_HELD

    @cached_property
    def filled(self) -> list[str]:
        """Return the cells that hold something."""
        return [cell for cell in self.cells if not BLANK.fullmatch(cell)]

    @cached_property
    def blank_share(self) -> float:
        """Return the share of blank cells among all."""
        return 1 - len(self.filled) / len(self.cells) if self.cells else 1.0

    @cached_property
    def counts(self) -> Counter[str]:
        """Return how often each value stands, capitals and accents aside."""
        return Counter(plain_or_sign(cell) for cell in self.filled)

    @cached_property
    def distinct_share(self) -> float:
        """Return the number of distinct values over the number of values."""
        return len(self.counts) / len(self.filled) if self.filled else 0.0

    @cached_property
    def _measured(self) -> list[Measured]:
        found = (measured(cell, self.decimal) for cell in self.filled)
        return [value for value in found if value]

    @cached_property
    def numbers(self) -> list[float]:
        """Return the cells that are numbers, a unit behind them or not."""
        return [value.number for value in self._measured]

    @cached_property
    def fraction_share(self) -> float:
        """Return the share of numbers written as 3 1/2."""
        return self._share(sum(value.is_fraction for value in self._measured))

    @cached_property
    def bare(self) -> list[float]:
        """Return the numbers without a unit."""
        return [value.number for value in self._measured if not value.unit]

    @cached_property
    def middle(self) -> float | None:
        """Return the median of the numbers without a unit, else of all; or None."""
        numbers = self.bare or self.numbers
        return median(numbers) if numbers else None

    @cached_property
    def cell_units(self) -> Counter[str]:
        """Return the units written behind the numbers."""
        return Counter(value.unit for value in self._measured if value.unit)

    @property
    def unit_told(self) -> str | None:
        """Return the unit that cells say for those without one too, or None.

        Most say it, and the others lie about as they do, or are few.
        """
        [(unit, count)] = self.cell_units.most_common(1) or [("", 0)]
        least = _FEW * len(self.numbers)
        often = sum(one >= least for one in self.cell_units.values())
        if not unit or not self.bare:
            return unit or None
        is_most = count >= _HALF * len(self.numbers) and self.is_bare_near(unit)
        is_told = often < 2 and (is_most or len(self.bare) < least)
        return unit if is_told else None

    def is_bare_near(self, unit: str) -> bool:
        """Say whether numbers without a unit lie about those that have this one."""
        of_unit = [value.number for value in self._measured if value.unit == unit]
        middle, other = median(self.bare), median(of_unit)
        return other <= middle * _NEAR and middle <= other * _NEAR

    @property
    def bare_doubt(self) -> str:
        """Return what is to be said where a unit is taken for cells without one."""
        unit, count = self.unit_told, len(self.bare)
        are_few = count < _FEW * len(self.numbers)
        if unit is None or not count or (are_few and self.is_bare_near(unit)):
            return ""
        return f"{count} of {len(self.numbers)} figures say no unit"

    @property
    def number_share(self) -> float:
        """Return the share of numbers."""
        return self._share(len(self.numbers))

    @property
    def whole_share(self) -> float:
        """Return the share of whole numbers from 0 on."""
        return self._share(
            sum(
                not value.is_fraction and value.number >= 0 and value.number % 1 == 0
                for value in self._measured
            )
        )

    @property
    def minutes_share(self) -> float:
        """Return the share of minutes and seconds, 1:30."""
        return self._share(sum(map(is_minutes, self.filled)))

    @cached_property
    def date_share(self) -> float:
        """Return the share of dates, with a time of day or without."""
        return self._share(sum(map(is_date, self.filled)))

    @cached_property
    def instant_share(self) -> float:
        """Return the share of dates with a time of day."""
        return self._share(sum(map(has_time, self.filled)))

    @cached_property
    def counted_share(self) -> float:
        """Return the share of what may be seconds since 1970; it may be any number."""
        return self._share(sum(map(is_since_1970, self.filled)))

    def day_number_share(self, *, has_time: bool) -> float:
        """Return the share of what may be a spreadsheet's days, and any number."""
        of_days = (is_day_number(cell, has_time=has_time) for cell in self.filled)
        return self._share(sum(of_days))

    @cached_property
    def time_share(self) -> float:
        """Return the share of times of day without a date."""
        return self._share(sum(map(is_time, self.filled)))

    @cached_property
    def clear_share(self) -> float:
        """Return the share of words for "nothing near"."""
        return self.word_share(words().codes["distance"])

    @property
    def answer_share(self) -> float:
        """Return the share of words for yes and no."""
        return self.word_share(words().codes["yes_no"])

    @cached_property
    def short_share(self) -> float:
        """Return the share of values short enough for a code."""
        return self._share(sum(len(cell) <= _SHORT for cell in self.filled))

    def word_share(self, known: dict[str, str]) -> float:
        """Return the share of cells that are one of the known words."""
        return self._share(
            sum(count for word, count in self.counts.items() if word in known)
        )

    def held_share(self, column_name: str) -> float:
        """Return the share of codes that the store holds in a column."""
        if not self.held.has_any(column_name):
            return 0.0
        words = self._words
        held = (word for word in words if self.held.has(column_name, word))
        return self._share(sum(words[word] for word in held))

    @cached_property
    def _words(self) -> Counter[str]:
        return Counter(" ".join(cell.split()) for cell in self.filled)

    def _share(self, count: int) -> float:
        return count / len(self.filled) if self.filled else 0.0


def looks_of(
    rows: Sequence[Sequence[str]], place: int, decimal: str, held: Held = NOTHING_HELD
) -> Looks:
    """Return the looks of one column of rows; a row that ends before it is blank."""
    cells = tuple(row[place] if place < len(row) else "" for row in rows)
    return Looks(cells, decimal, held)
