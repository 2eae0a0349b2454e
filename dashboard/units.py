"""Lengths and torques in the units the reader chose; everything is kept in mm and Nm.

Rounding never puts a value on the wrong side of a limit: what is compared is shown
with the same number of decimals, so that rounding keeps the order, and decimals are
added until what differs by a millionth of our unit or more, as the checks compare it,
is shown to differ. A value at its limit is shown at its limit.
"""

import re
from collections.abc import Iterable
from typing import Final

from dashboard.wish import INCH, wish
from queries.units import FOOT_POUND_NM, INCH_MM

# Our unit: the reader's, how many of ours it is, and how many more decimals it needs.
INCH_UNITS: Final[dict[str, tuple[str, float, int]]] = {
    "mm": ("in", float(INCH_MM), 2),
    "m": ("ft", float(12 * INCH_MM / 1000), 0),
    "Nm": ("ft·lbf", float(FOOT_POUND_NM), 0),
}
# The checks round to a millionth of our unit before they compare; 25.4 times finer.
COMPARED_DECIMALS = 6
MOST_DECIMALS = 8

_NUMBER = r"-?\d+(?:\.\d+)?"
_FREE_NUMBER = re.compile(rf"(?<![\w.])(?<!mark ){_NUMBER}(?!\w|\.\d)")
_QUANTITY = re.compile(
    rf"(?<![\w.-])({_NUMBER}(?: to (?:under )?{_NUMBER})?) (mm|Nm)\b"
)


def unit_shown(unit: str) -> str:
    """Return the unit in which the reader sees a quantity of our `unit`."""
    return _shown(unit)[0]


def scaled(value: float, unit: str) -> float:
    """Return a quantity in the reader's unit, unrounded."""
    return value / _shown(unit)[1]


def decimals_for(
    values: Iterable[float | None], unit: str, decimals: int, most: int = MOST_DECIMALS
) -> int:
    """Return how many decimals keep these quantities of our `unit` apart.

    `decimals`: how many are enough in our unit. Unequal ones get unequal texts, unless
    that takes more than `most`.
    """
    compared = {
        round(value, COMPARED_DECIMALS)
        for value in values
        if value is not None and abs(value) != float("inf")
    }
    wanted = decimals + _shown(unit)[2]
    while wanted < most:
        if len({f"{scaled(one, unit):.{wanted}f}" for one in compared}) == len(
            compared
        ):
            break
        wanted += 1
    return wanted


def in_reader_units(text: str, unit: str | None = None) -> str:
    """Return words of queries/, written in mm and Nm, in the reader's units.

    `unit` mm or Nm: all numbers of the text are of it (the words of a check); else only
    those directly before a unit are taken.
    """
    decimal = wish().language.decimal
    if wish().units != INCH and decimal == ".":
        return text
    if unit in INCH_UNITS:
        numbers = [float(found) for found in _FREE_NUMBER.findall(text)]
        decimals = decimals_for(numbers, unit, 1 if wish().units == INCH else 2)
        converted = _FREE_NUMBER.sub(
            lambda found: _written(float(found[0]), unit, decimals), text
        )
        return re.sub(rf" {unit}\b", f" {unit_shown(unit)}", converted)
    return _QUANTITY.sub(
        lambda found: in_reader_units(f"{found[1]} {found[2]}", found[2]), text
    )


def _written(value: float, unit: str, decimals: int) -> str:
    text = f"{scaled(value, unit):.{decimals}f}"
    short = text.rstrip("0").rstrip(".") if "." in text else text
    return short.replace(".", wish().language.decimal)


def _shown(unit: str) -> tuple[str, float, int]:
    if wish().units == INCH and unit in INCH_UNITS:
        return INCH_UNITS[unit]
    return unit, 1.0, 0
