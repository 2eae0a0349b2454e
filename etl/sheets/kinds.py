"""How a cell of a sheet is read: a function a kind, with what it expects in words."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fractions import Fraction

import polars as pl

Value = str | float | int | bool | date | datetime | list[str] | None

MM_PER_INCH = Fraction("25.4")  # exact, NIST SP 811
_NUMBER = re.compile(r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?")
# Nine digits fit into the 32 bits of the tables' counts.
_COUNT = re.compile(r"[0-9]{1,9}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_METRIC = re.compile(r"M([0-9]+(?:\.[0-9]+)?)")
_INCHES = re.compile(r'([0-9]+)"')
_FRACTION = re.compile(r'(?:([0-9]+)[ -])?([0-9]+)/([1-9][0-9]*)"?')
# As logs write it without a word of the site map's own (etl/cells.sql).
_YES_NO_WORDS = dict.fromkeys(("yes", "y", "true", "1"), True) | dict.fromkeys(
    ("no", "n", "false", "0"), False
)
# Outside these years a date is a slip of the pen.
FIRST_YEAR, LAST_YEAR = 1950, 2099


@dataclass(frozen=True)
class Kind:
    """A kind of cell.

    `read` takes the trimmed text of a cell that is not blank and raises ValueError
    where it is none of the kind; `expected` completes "expected ...".
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
    # float() also takes nan, infinity and 1_000, which nobody writes for a limit.
    if not _NUMBER.fullmatch(cell):
        raise ValueError(cell)
    return float(cell)


def _positive(cell: str) -> Value:
    value = _number(cell)
    if value <= 0:
        raise ValueError(cell)
    return value


def _angle(cell: str) -> Value:
    value = _number(cell)
    if not 0 < value <= 90:
        raise ValueError(cell)
    return value


def _count(cell: str) -> Value:
    if not _COUNT.fullmatch(cell):
        raise ValueError(cell)
    return int(cell)


def _yes_no(cell: str) -> Value:
    try:
        return _YES_NO_WORDS[cell.lower()]
    except KeyError as error:
        raise ValueError(cell) from error


def _codes(cell: str) -> Value:
    codes = [canonical_code(code) for code in cell.split(";") if code.strip()]
    if not codes:
        raise ValueError(cell)
    return codes


def _date(cell: str) -> Value:
    if not _DATE.fullmatch(cell):
        raise ValueError(cell)
    return _in_our_time(date.fromisoformat(cell))


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
    return _positive(cell) if _NUMBER.fullmatch(cell) else size_mm(cell)


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
POSITIVE = Kind(_positive, "a number above 0, with a decimal point", pl.Float64())
NOT_NEGATIVE = Kind(_number, "a number, 0 or more, with a decimal point", pl.Float64())
ANGLE = Kind(_angle, "a number above 0, at most 90", pl.Float64())
COUNT = Kind(_count, "a whole number, 0 or more", pl.Int64())
YES_NO = Kind(_yes_no, "yes or no, or true or false", pl.Boolean())
DATE = Kind(
    _date,
    f"a date such as 2026-03-31, from {FIRST_YEAR} to {LAST_YEAR}",
    pl.Date(),
)
INSTANT = Kind(
    _instant,
    "an instant with its offset, such as 2026-03-31T14:30Z",
    pl.Datetime("us", "UTC"),
)
SIZE = Kind(_size, "a size such as M12 or 1/2", pl.String())
DIAMETER_MM = Kind(
    _diameter_mm, 'millimetres above 0, or inches such as 1/2"', pl.Float64()
)
