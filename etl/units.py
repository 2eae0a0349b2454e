"""Exact factors from a site's units to ours, and the spellings sites use.

NIST SP 811 (2008), appendix B.8: 1 kgf = 9.80665 N is exact by definition, as are inch
and pound-force (queries/units.py), 1 bar = 0.1 MPa and, by their names, deca, kilo and
mega.
"""

import math
import re
from fractions import Fraction
from typing import Final

from queries.units import FOOT_POUND_NM, INCH_MM, INCH_POUND_NM, POUND_FORCE_N

_KILOGRAM_FORCE_N: Final = Fraction("9.80665")
_PSI_MPA: Final = POUND_FORCE_N / INCH_MM**2

# site's unit -> (our unit, exact factor); the first of each group is our own.
EXACT_FACTORS: Final[dict[str, tuple[str, Fraction]]] = {
    "mm": ("mm", Fraction(1)),
    "cm": ("mm", Fraction(10)),
    "m": ("mm", Fraction(1000)),
    "in": ("mm", INCH_MM),
    "ft": ("mm", 12 * INCH_MM),
    "Nm": ("Nm", Fraction(1)),
    "ft·lbf": ("Nm", FOOT_POUND_NM),
    "in·lbf": ("Nm", INCH_POUND_NM),
    "kgf·m": ("Nm", _KILOGRAM_FORCE_N),
    "daN·m": ("Nm", Fraction(10)),
    "s": ("s", Fraction(1)),
    "min": ("s", Fraction(60)),
    "ms": ("s", Fraction(1, 1000)),
    "MPa": ("MPa", Fraction(1)),
    "bar": ("MPa", Fraction(1, 10)),
    "psi": ("MPa", _PSI_MPA),
    "ksi": ("MPa", 1000 * _PSI_MPA),
    "deg": ("deg", Fraction(1)),
}
FACTORS: Final[dict[str, tuple[str, float]]] = {
    unit: (ours, float(factor)) for unit, (ours, factor) in EXACT_FACTORS.items()
}
QUANTITIES: Final = {
    "mm": "a length",
    "Nm": "a torque",
    "s": "a time",
    "MPa": "a strength",
    "deg": "an angle",
}

# Other spellings, as _spelling leaves them: small letters, no blanks, dots, hyphens.
ALIASES: Final[dict[str, tuple[str, ...]]] = {
    "mm": ("millimeter", "millimeters", "millimetre", "millimetres"),
    "cm": ("centimeter", "centimeters", "centimetre", "centimetres"),
    "m": ("meter", "meters", "metre", "metres"),
    "in": ("inch", "inches", "ins", '"', "″", "”", "''", "zoll"),
    "ft": ("foot", "feet", "'", "′", "’"),
    "Nm": ("newtonmeter", "newtonmeters", "newtonmetre", "newtonmetres"),
    "ft·lbf": ("lbfft", "ftlb", "ftlbs", "lbft", "lbsft", "footpound", "footpounds"),
    "in·lbf": ("lbfin", "inlb", "inlbs", "lbin", "lbsin", "inchpound", "inchpounds"),
    "kgf·m": ("mkgf", "kgm", "mkg", "kpm", "mkp"),
    "daN·m": ("mdan",),
    "s": ("sec", "secs", "second", "seconds", "sek"),
    "ms": ("msec", "millisecond", "milliseconds"),
    "min": ("mins", "minute", "minutes"),
    "MPa": ("n/mm2", "n/mm^2", "mn/m2", "mn/m^2"),
    "psi": ("lbf/in2", "lb/in2", "lbf/in^2", "lb/in^2"),
    "ksi": (),
    "bar": (),
    "deg": ("°", "º", "degree", "degrees"),
}


def _spelling(text: str) -> str:
    """Return a unit's text without what is written one way or another."""
    return re.sub(r"[\s.·⋅∙•*×-]", "", text).lower().replace("²", "2")


_BY_SPELLING: Final = {
    _spelling(spelling): unit
    for unit, others in ALIASES.items()
    for spelling in (unit, *others)
}


def unit_named(text: str) -> str | None:
    """Return the unit of EXACT_FACTORS that a text names, or None."""
    return _BY_SPELLING.get(_spelling(text))


def units_of(canonical_unit: str) -> tuple[str, ...]:
    """Return the units a site may log for a column of this canonical unit."""
    return tuple(
        unit for unit, (target, _) in FACTORS.items() if target == canonical_unit
    )


def split_factor(unit: str) -> tuple[float, float]:
    """Split a ten-thousandth of a unit's factor into its upper 25 bits and the rest.

    A whole number under 2^28 times the upper part is exact in a double: `scaled` in
    cells.sql, which this is for, therefore rounds once.
    """
    factor = EXACT_FACTORS[unit][1] / 10_000
    _, exponent = math.frexp(float(factor))
    step = Fraction(2) ** (exponent - 25)
    upper = factor // step * step
    return float(upper), float(factor - upper)
