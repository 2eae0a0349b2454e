"""Many questions at once."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def benjamini_hochberg(p_values: Floats) -> Floats:
    """Return the q-value of each p-value; NaN stays, and counts as no question.

    The smallest share of false discoveries at which the question would be answered
    with yes (Benjamini and Hochberg 1995, J. R. Stat. Soc. B 57:289-300).
    """
    q_values = np.full(len(p_values), np.nan)
    asked = np.flatnonzero(~np.isnan(p_values))
    if not len(asked):
        return q_values
    order = asked[np.argsort(p_values[asked], kind="stable")]
    scaled = p_values[order] * len(order) / np.arange(1, len(order) + 1)
    smallest = np.minimum.accumulate(scaled[::-1])[::-1]
    q_values[order] = np.minimum(smallest, 1.0)
    return q_values
