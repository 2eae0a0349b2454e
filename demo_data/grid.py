"""Rounding to the graduations of an instrument, so that limits stay limits.

Graduations may be fractions of an inch: a result is rounded to a ten-thousandth of a
millimetre so that 88.9 mm does not become 88.89999.
"""

import numpy as np

from demo_data.streams import Floats

# Absorbs binary fractions: a value this close under a graduation counts as on it.
_SLACK = 1e-6
_DECIMALS = 4


def up(values: Floats, step: Floats) -> Floats:
    """Round up to the next graduation; a value on one stays."""
    return _tidy(np.ceil(values / step - _SLACK) * step)


def down(values: Floats, step: Floats) -> Floats:
    """Round down to the last graduation; a value on one stays."""
    return _tidy(np.floor(values / step + _SLACK) * step)


def near(values: Floats, step: Floats) -> Floats:
    """Round to the nearest graduation."""
    return _tidy(np.rint(values / step) * step)


def _tidy(values: Floats) -> Floats:
    return np.asarray(np.round(values, _DECIMALS), dtype=np.float64)
