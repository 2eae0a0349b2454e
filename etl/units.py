"""Exact factors from a site's units to ours.

NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm and 1 lbf = 4.4482216152605 N are
exact by definition, and so is 1 kgf = 9.80665 N.
"""

from typing import Final

_INCH_MM: Final = 25.4
_POUND_FORCE_N: Final = 4.4482216152605
_KILOGRAM_FORCE_N: Final = 9.80665

# site's unit -> (our unit, factor); the first of each group is our own.
FACTORS: Final[dict[str, tuple[str, float]]] = {
    "mm": ("mm", 1.0),
    "cm": ("mm", 10.0),
    "m": ("mm", 1000.0),
    "in": ("mm", _INCH_MM),
    "Nm": ("Nm", 1.0),
    "ft·lbf": ("Nm", 12 * _INCH_MM / 1000 * _POUND_FORCE_N),
    "in·lbf": ("Nm", _INCH_MM / 1000 * _POUND_FORCE_N),
    "kgf·m": ("Nm", _KILOGRAM_FORCE_N),
    "s": ("s", 1.0),
    "min": ("s", 60.0),
    "MPa": ("MPa", 1.0),
    "psi": ("MPa", _POUND_FORCE_N / _INCH_MM**2),
    "deg": ("deg", 1.0),
}


def units_of(canonical_unit: str) -> tuple[str, ...]:
    """Return the units a site may log for a column of this canonical unit."""
    return tuple(
        unit for unit, (target, _) in FACTORS.items() if target == canonical_unit
    )
