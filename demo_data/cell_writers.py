"""How the small logs write a value: in their units, words and number formats."""

import math
from collections.abc import Callable
from datetime import date, datetime
from fractions import Fraction
from typing import Any, cast

Cell = str | float | int | bool | date | None
Writer = Callable[[Any], Cell]
# A site's words and what they mean to us.
Words = dict[str, str | bool]

# One of theirs in ours; NIST SP 811.
MM_IN_A_CM = 10.0
MM_IN_AN_INCH = 25.4
NM_IN_A_FT_LBF = 1.3558179483314004
MPA_IN_A_PSI = 0.00689475729317
SIXTEENTHS = 16


def plain(value: Any) -> Cell:
    """Leave a value as it is."""
    return cast(Cell, value)


def number(value: float) -> Cell:
    """Write a number without a needless .0; an infinite distance is clear."""
    return "clear" if math.isinf(value) else f"{value:.6g}"


def clearable(value_mm: float) -> Cell:
    """Leave a distance a number; an infinite one is clear."""
    return "clear" if math.isinf(value_mm) else value_mm


def clock(value: datetime) -> Cell:
    """Write the time of day."""
    return value.strftime("%H:%M")


def dated(style: str) -> Writer:
    """Return a writer of dates in strftime's style."""
    return lambda value: value.strftime(style)


def coded(words: Words) -> Writer:
    """Return a writer of the site's words, given the map from its words to ours."""
    theirs = {ours: word for word, ours in words.items()}
    return lambda value: theirs[value]


def comma(divisor: float = 1.0, clear: str = "clear") -> Writer:
    """Return a writer of numbers with a decimal comma, in a unit of `divisor` ours."""

    def write(value: float) -> Cell:
        if math.isinf(value):
            return clear
        return f"{value / divisor:.6g}".replace(".", ",")

    return write


def inch_fraction(value_mm: float) -> Cell:
    """Write inches as a tape shows them: 3 1/2, 7/8, 4. Sixteenths are exact."""
    sixteenths = round(value_mm / MM_IN_AN_INCH * SIXTEENTHS)
    whole, rest = divmod(sixteenths, SIXTEENTHS)
    if not rest:
        return str(whole)
    part = str(Fraction(rest, SIXTEENTHS))
    return f"{whole} {part}" if whole else part


def inch_decimal(value_mm: float) -> Cell:
    """Write inches as a decimal of four places at most, or clear."""
    return (
        "clear" if math.isinf(value_mm) else f"{round(value_mm / MM_IN_AN_INCH, 4):g}"
    )


def foot_pounds(value_nm: float) -> Cell:
    """Write a torque in lbf·ft, to a tenth."""
    return f"{value_nm / NM_IN_A_FT_LBF:.1f}".removesuffix(".0")


def psi(value_mpa: float) -> Cell:
    """Write a strength in psi, to the next ten."""
    return str(round(value_mpa / MPA_IN_A_PSI, -1)).removesuffix(".0")
