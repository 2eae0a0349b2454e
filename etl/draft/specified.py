"""Which unit figures are in, by what the setting data specify of their rows."""

from dataclasses import dataclass
from statistics import median

from etl.draft.looks import Looks
from etl.draft.numbers import measured
from etl.units import FACTORS, units_of
from queries.columns import Column

# Logged figures lie about what is specified; hardly two units are so near each other.
_LOW, _HIGH = 0.8, 1.25
FEWEST = 5
_SAME = 0.005


@dataclass(frozen=True)
class Specified:
    """What setting data tell of figures beside their codes.

    `unit`: the only one in which those without their own are about what is specified;
    None where none suits, or several. `is_all_of_it`: each is exactly what is
    specified, as what was asked for is.
    """

    unit: str | None = None
    is_all_of_it: bool = False


NOTHING_TOLD = Specified()


def by_settings(column: Column, looks: Looks, codes: Looks | None) -> Specified:
    """Hold figures without a unit to what the setting `codes` of their rows specify."""
    if column.unit is None or codes is None:
        return NOTHING_TOLD
    ratios = [
        found.number / specified
        for cell, word in zip(looks.cells, codes.cells, strict=True)
        if (found := measured(cell, looks.decimal)) is not None
        and found.unit is None
        and (specified := looks.held.expected(column.name, word))
    ]
    if len(ratios) < FEWEST:
        return NOTHING_TOLD
    middle = median(ratios)
    suiting = [
        unit
        for unit in units_of(column.unit)
        if _LOW <= middle * FACTORS[unit][1] <= _HIGH
    ]
    if len(suiting) != 1:
        return NOTHING_TOLD
    times = FACTORS[suiting[0]][1]
    # As exact as a conversion to whole figures leaves them.
    is_all = all(abs(ratio * times - 1) < _SAME for ratio in ratios)
    return Specified(suiting[0], is_all)
