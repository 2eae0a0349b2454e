"""Exact factors between the units of sites, of readers, and ours: one definition.

NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 ft = 12 in and 1 lbf =
4.4482216152605 N are exact by definition.
"""

from fractions import Fraction
from typing import Final

INCH_MM: Final = Fraction("25.4")
POUND_FORCE_N: Final = Fraction("4.4482216152605")
INCH_POUND_NM: Final = INCH_MM / 1000 * POUND_FORCE_N
FOOT_POUND_NM: Final = 12 * INCH_POUND_NM
