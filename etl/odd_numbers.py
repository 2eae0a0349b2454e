"""Read a number that the plain cast does not: grouped, a fraction, with a unit.

Exact: a cell's decimal or fraction times the unit's exact factor, rounded once.
"""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from etl.units import EXACT_FACTORS, QUANTITIES, unit_named

# Longer cells are texts, not numbers; the limit also bounds the work a cell can cause.
MAX_LENGTH: Final = 60

# A unit begins with a letter or one of the signs for feet, inches and degrees.
_UNIT: Final = r""" *(?P<unit>[^\W\d_].*|['"′″’”°º]+)?"""
_GROUPED: Final = (
    r"[0-9]{1,3}(?P<group>[ '’GROUP])[0-9]{3}(?:(?P=group)[0-9]{3})*|[0-9]+"
)
_DECIMAL: Final = {
    point: re.compile(
        rf"\+?(?P<whole>{_GROUPED.replace('GROUP', group)})?"
        rf"(?:{re.escape(point)}(?P<part>[0-9]*))?"
        rf"(?:[eE](?P<power>[+-]?[0-9]{{1,3}}))?{_UNIT}"
    )
    for point, group in ((".", ","), (",", "."))
}
_FRACTION: Final = re.compile(
    r"\+?(?:(?P<whole>[0-9]{1,6})(?: +| *- *))?"
    rf"(?P<over>[0-9]{{1,2}}) *(?P<slash>[/⁄]) *(?P<under>[0-9]{{1,2}}){_UNIT}"
)
_MINUTES: Final = re.compile(
    r"(?:00?:)?(?P<minutes>[0-5]?[0-9]):(?P<seconds>[0-5][0-9])"
)
# What stands behind, or before, a count: brushed 2x, x 2, 2 mal.
TIMES: Final = "×"
_TIMES: Final = re.compile(
    r"[x×] ?(?P<after>[0-9]{1,4})"
    r"|(?P<before>[0-9]{1,4}) ?(?:[x×]|times|mal|fois|veces)",
    re.IGNORECASE,
)
# Bare 1/2 is a fraction where such are usual; elsewhere it may well be two values, and
# so may 6/9 of inches, which are halved and halved again.
_FRACTION_UNITS: Final = ("in", "ft", "min")
_OF_AN_INCH: Final = (2, 4, 8, 16, 32, 64)


@dataclass(frozen=True)
class Quantity:
    """A cell read: `value` in our unit, or None and, where it is known, why not."""

    value: float | None
    found: str = ""


UNREADABLE: Final = Quantity(None)


@lru_cache(maxsize=65_536)
def read_quantity(cell: str, decimal: str, unit: str | None) -> Quantity:
    """Read a number of a column whose cells are in `unit` unless they say otherwise.

    `decimal` is the site's decimal sign, "." or ","; `unit` a key of EXACT_FACTORS,
    None for a bare number, TIMES for a count. The value is the double nearest to the
    exact one.
    """
    if len(cell) > MAX_LENGTH:
        return UNREADABLE
    text = _plain_text(cell)
    if unit == TIMES:
        times = times_of(text)
        if times is not None:
            return Quantity(float(times))
        unit = None
    if minutes := _MINUTES.fullmatch(text):
        return _minutes(minutes, unit)
    if fraction := _FRACTION.fullmatch(text):
        return _fraction(fraction, unit)
    if number := _DECIMAL[decimal].fullmatch(text):
        return _decimal(number, unit)
    other = {".": ",", ",": "."}[decimal]
    if _DECIMAL[other].fullmatch(text) and any(sign.isdigit() for sign in text[:1]):
        sign = {".": "decimal point", ",": "decimal comma"}[other]
        return Quantity(None, f"found a {sign}")
    return UNREADABLE


def times_of(text: str) -> int | None:
    """Return how often something was done where a text says so, as 2x; else None."""
    found = _TIMES.fullmatch(text)
    return int(found["after"] or found["before"]) if found else None


def is_minutes(text: str) -> bool:
    """Say whether a text is minutes and seconds, as 1:30 in a column of times."""
    return _MINUTES.fullmatch(text) is not None


def _plain_text(cell: str) -> str:
    """Return a cell with plain blanks, none around it, and ½ written as 1/2."""
    return "".join(_spelled(character) for character in cell).strip(" \t\r\n")


def _spelled(character: str) -> str:
    if character.isascii():
        return character
    category = unicodedata.category(character)
    if category == "Zs":
        return " "
    if category != "No":
        return character
    fraction = unicodedata.normalize("NFKC", character)
    return f" {fraction} " if "⁄" in fraction else character


def _minutes(found: re.Match[str], unit: str | None) -> Quantity:
    """Read 1:30 in a column of times: minutes and seconds."""
    if unit is None or EXACT_FACTORS[unit][0] != "s":
        return Quantity(None, "found a time of day or a ratio")
    return Quantity(60.0 * int(found["minutes"]) + int(found["seconds"]))


def is_of_an_inch(over: int, under: int) -> bool:
    """Say whether a fraction is one that inches are parted into, as 3/8."""
    return 0 < over < under and under in _OF_AN_INCH


def _fraction(found: re.Match[str], unit: str | None) -> Quantity:
    over, under = int(found["over"]), int(found["under"])
    own = _own_unit(found["unit"], unit)
    if isinstance(own, Quantity):
        return own
    if not 0 < over < under:
        return Quantity(None, f"found {over}/{under}, which is no proper fraction")
    is_usual = own == "min" or (own in _FRACTION_UNITS and is_of_an_inch(over, under))
    is_certain = found["whole"] or found["slash"] == "⁄" or is_usual
    if unit is None or not is_certain:
        return Quantity(None, "found a fraction, or two values")
    return _converted(int(found["whole"] or 0) + Fraction(over, under), own)


def _decimal(found: re.Match[str], unit: str | None) -> Quantity:
    whole = re.sub("[^0-9]", "", found["whole"] or "")
    part = found["part"] or ""
    if not whole and not part:
        return UNREADABLE
    own = _own_unit(found["unit"], unit)
    if isinstance(own, Quantity):
        return own
    digits = Fraction(int(whole + part), 10 ** len(part))
    return _converted(digits * Fraction(10) ** int(found["power"] or 0), own)


def _own_unit(text: str | None, unit: str | None) -> str | Quantity | None:
    """Return the unit a cell is in: its own, else the map's; a fault where neither."""
    if text is None:
        return unit
    if unit is None:
        return Quantity(None, f"found {text!r} after the number")
    own = unit_named(text)
    if own is None:
        return Quantity(None, f"found {text!r}, which is no known unit")
    quantity = EXACT_FACTORS[own][0]
    if quantity != EXACT_FACTORS[unit][0]:
        return Quantity(None, f"found {own}, {QUANTITIES[quantity]}")
    return own


def _converted(number: Fraction, unit: str | None) -> Quantity:
    exact = number * EXACT_FACTORS[unit][1] if unit else number
    # As far as the plain reading goes: beyond, nothing is a quantity.
    return Quantity(float(exact)) if exact <= 10**300 else UNREADABLE
