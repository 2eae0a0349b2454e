"""How a cell of a sheet is read: a function a kind, with what it expects in words."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fractions import Fraction
from math import isinf
from typing import Final

import polars as pl

from etl.draft.words import plain, words
from etl.odd_dates import MUST_SAY, DateOrder, is_day_number, is_since_1970, read_moment
from etl.odd_numbers import read_quantity

Value = str | float | int | bool | date | datetime | list[str] | None

MM_PER_INCH = Fraction("25.4")  # exact, NIST SP 811
_NUMBER = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?")
# Nine digits fit into the 32 bits of the tables' counts.
_COUNT = re.compile(r"[0-9]{1,9}")
_GROUPED_COUNT = re.compile(r"[0-9]{1,3}([ \u00a0\u202f,.'’])[0-9]{3}(?:\1[0-9]{3})*")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_METRIC = re.compile(r"M([0-9]+(?:\.[0-9]+)?)")
_INCHES = re.compile(r'([0-9]+)"')
_FRACTION = re.compile(r'(?:([0-9]+)[ -])?([0-9]+)/([1-9][0-9]*)"?')
# Of the words of one letter those of English and German, and no French "o": a nought.
_LETTERS = ("y", "n", "j", "1", "0")
# Outside these years a date is a slip of the pen.
FIRST_YEAR, LAST_YEAR = 1950, 2099
ORDERS: Final[tuple[DateOrder, ...]] = ("day", "month")


class UnclearError(ValueError):
    """A cell that is none of the kind; its one argument says what was found."""


@dataclass(frozen=True)
class Kind:
    """A kind of cell.

    `read` takes the trimmed text of a cell that is not blank and raises ValueError
    where it is none of the kind, UnclearError where it knows why; `expected` completes
    "expected ...".
    """

    read: Callable[[str], Value]
    expected: str
    dtype: type[pl.DataType] | pl.DataType


def canonical_code(text: str) -> str:
    """Return a code as firmset keeps it: trimmed, in capitals, like those of logs."""
    return text.strip().upper()


def size_mm(size: str) -> float:
    """Return the diameter of a size such as M12, 1/2, 1 1/4" or 1" in mm.

    ValueError where it is none.
    """
    if metric := _METRIC.fullmatch(size):
        diameter = Fraction(metric[1])
    elif inches := _INCHES.fullmatch(size):
        diameter = Fraction(inches[1]) * MM_PER_INCH
    elif parts := _FRACTION.fullmatch(size):
        fraction = Fraction(int(parts[2]), int(parts[3]))
        diameter = (Fraction(parts[1] or 0) + fraction) * MM_PER_INCH
    else:
        raise ValueError(size)
    if not diameter:
        raise ValueError(size)
    return float(diameter)


def _text(cell: str) -> Value:
    return cell


def _number(cell: str) -> float:
    # float() also takes nan, infinity and 1_000, which nobody writes for a limit, and
    # makes infinity of 400 digits.
    if not _NUMBER.fullmatch(cell) or isinf(float(cell)):
        raise ValueError(cell)
    return float(cell)


def quantity(unit: str, expected: str, *, may_be_zero: bool = False) -> Kind:
    """Return the kind of a number of a unit of etl/units.py, or with its own unit.

    With a decimal comma where that is certain: 1,250 may be either. `expected` names
    unit and bounds.
    """

    def read(cell: str) -> Value:
        value = quantity_of(cell, unit)
        if value < 0 or (not value and not may_be_zero):
            raise ValueError(cell)
        return value

    return Kind(read, expected, pl.Float64())


def quantity_of(cell: str, unit: str) -> float:
    """Return what a cell says in a unit of etl/units.py; ValueError where nothing.

    UnclearError where it is known why, as of a cell that has two readings.
    """
    if _NUMBER.fullmatch(cell):
        return _number(cell)
    # A point alone is a decimal one, as promised; a comma may be, or group thousands.
    signs = ".," if "," in cell else "."
    found = [read_quantity(cell, sign, unit) for sign in signs]
    values = {each.value for each in found if each.value is not None}
    if len(values) > 1:
        listed = " and ".join(f"{value:.10g}" for value in sorted(values))
        raise UnclearError(f"it has two readings, {listed}")
    if values:
        return values.pop()
    raise UnclearError(found[-1].found)


def _angle(cell: str) -> Value:
    value = quantity_of(cell, "deg")
    if not 0 < value <= 90:
        raise ValueError(cell)
    return value


def _count(cell: str) -> Value:
    # 5,000 and 5.000 are no whole number unless they are thousands.
    plain = re.sub("[^0-9]", "", cell) if _GROUPED_COUNT.fullmatch(cell) else cell
    if not _COUNT.fullmatch(plain):
        raise ValueError(cell)
    return int(plain)


def _yes_no(cell: str) -> Value:
    """Read the words of the languages that drafts know: a sheet has no map.

    Spreadsheets write true and false in the language of their user: WAHR, FAUX.
    """
    word = plain(cell)
    said = words().codes["yes_no"].get(word)
    if said is None or (len(word) == 1 and word not in _LETTERS):
        raise ValueError(cell)
    return said == "true"


def _codes(cell: str) -> Value:
    codes = [canonical_code(code) for code in cell.split(";") if code.strip()]
    if not codes:
        raise ValueError(cell)
    return codes


def dates(order: DateOrder) -> Kind:
    """Return the kind of a date, of `order` where the day or the month may be first."""

    def read(cell: str) -> Value:
        if _DATE.fullmatch(cell):
            return _in_our_time(date.fromisoformat(cell))
        # A number may be any; a date that is written out is read where it is one only.
        if cell.isdigit() or is_day_number(cell) or is_since_1970(cell):
            raise ValueError(cell)
        moment = read_moment(cell, order, "UTC")
        if moment.day is None or moment.has_time:
            raise UnclearError(moment.found.removesuffix(f": {MUST_SAY}"))
        return _in_our_time(moment.day)

    return Kind(
        read,
        f"a date such as 2026-03-31 or 31 March 2026, from {FIRST_YEAR} to {LAST_YEAR}",
        pl.Date(),
    )


def order_of_dates(cells: Iterable[str]) -> DateOrder:
    """Return what comes first in the dates of one hand: the day, the month, or unsaid.

    One that can be read one way only, as 31/03/2026, tells it of all, unless another
    tells the other way.
    """
    told = set()
    for cell in cells:
        days = {
            order for order in ORDERS if read_moment(cell, order, "UTC").day is not None
        }
        told |= days if len(days) == 1 else set()
    return told.pop() if len(told) == 1 else "unsaid"


def _instant(cell: str) -> Value:
    value = datetime.fromisoformat(cell)
    if value.tzinfo is None:
        raise ValueError(cell)
    _in_our_time(value.date())
    return value.astimezone(UTC)


def _in_our_time(day: date) -> date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(day)
    return day


def _size(cell: str) -> Value:
    size = " ".join(cell.upper().split())
    size_mm(size)
    # 1/2 and 1/2" are the same size and must be counted as one.
    return size.removesuffix('"') if "/" in size else size


def _diameter_mm(cell: str) -> Value:
    # Of bits a bare 1/2 is inches, as of sizes.
    if _FRACTION.fullmatch(cell):
        return size_mm(cell)
    return LENGTH_MM.read(cell)


def choice(words: tuple[str, ...]) -> Kind:
    """Return the kind of a cell that holds one of a few words."""

    def read(cell: str) -> Value:
        if cell.lower() not in words:
            raise ValueError(cell)
        return cell.lower()

    return Kind(read, f"one of {', '.join(words)}", pl.String())


TEXT = Kind(_text, "a text", pl.String())
CODE = Kind(canonical_code, "a code", pl.String())
CODES = Kind(_codes, "codes with ; between them", pl.List(pl.String()))
_LENGTH = 'a number of mm above 0, or with its unit, as 2 3/8"'
LENGTH_MM = quantity("mm", _LENGTH)
TORQUE_NM = quantity("Nm", "a number of Nm above 0, or with its unit, as 30 ft·lbf")
TORQUE_FROM_NM = quantity(
    "Nm", "a number of Nm, 0 or more, or with its unit, as 30 ft·lbf", may_be_zero=True
)
STRENGTH_MPA = quantity("MPa", "a number of MPa above 0, or with its unit, as 3000 psi")
ANGLE = Kind(_angle, "a number of degrees above 0, at most 90", pl.Float64())
COUNT = Kind(_count, "a whole number, 0 or more", pl.Int64())
YES_NO = Kind(_yes_no, "yes or no, or true or false", pl.Boolean())
DATE = dates("unsaid")
INSTANT = Kind(
    _instant,
    "an instant with its offset, such as 2026-03-31T14:30Z",
    pl.Datetime("us", "UTC"),
)
SIZE = Kind(_size, "a size such as M12 or 1/2", pl.String())
DIAMETER_MM = Kind(_diameter_mm, _LENGTH, pl.Float64())
