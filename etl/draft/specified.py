"""Which unit figures are in, by what the setting data specify of their rows."""

from statistics import median

from etl.draft.looks import Looks
from etl.draft.numbers import measured
from etl.units import FACTORS, units_of
from queries.columns import Column

# Logged figures lie about what is specified; hardly two units are so near each other.
_LOW, _HIGH = 0.8, 1.25
_FEWEST = 5


def unit_by_settings(column: Column, looks: Looks, codes: Looks | None) -> str | None:
    """Return the only unit in which figures are about what their rows' codes specify.

    `codes`: the setting codes of the same rows. None where no unit suits, or several,
    or where the cells name theirs.
    """
    if column.unit is None or codes is None or looks.cell_units:
        return None
    ratios = [
        found.number / specified
        for cell, word in zip(looks.cells, codes.cells, strict=True)
        if (found := measured(cell, looks.decimal)) is not None
        and (specified := looks.held.expected(column.name, word))
    ]
    if len(ratios) < _FEWEST:
        return None
    middle = median(ratios)
    suiting = [
        unit
        for unit in units_of(column.unit)
        if _LOW <= middle * FACTORS[unit][1] <= _HIGH
    ]
    return suiting[0] if len(suiting) == 1 else None
