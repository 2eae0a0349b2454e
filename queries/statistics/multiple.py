"""Many questions at once."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def benjamini_hochberg(p_values: Floats) -> Floats:
    """Return the q-value of each p-value; NaN stays, and counts as no question.

    Questions along the last axis; of several families no p-value may be NaN.

    The smallest share of false discoveries at which the question would be answered
    with yes (Benjamini and Hochberg 1995, J. R. Stat. Soc. B 57:289-300).
    """
    if p_values.ndim == 1:
        q_values = np.full(len(p_values), np.nan)
        asked = ~np.isnan(p_values)
        q_values[asked] = _q_values(p_values[asked])
        return q_values
    return _q_values(p_values)


def _q_values(p_values: Floats) -> Floats:
    order = np.argsort(p_values, axis=-1, kind="stable")
    questions = p_values.shape[-1]
    places = np.arange(1, questions + 1)
    scaled = np.take_along_axis(p_values, order, axis=-1) * questions / places
    smallest = np.minimum.accumulate(scaled[..., ::-1], axis=-1)[..., ::-1]
    q_values = np.empty_like(p_values)
    np.put_along_axis(q_values, order, np.minimum(smallest, 1.0), axis=-1)
    return q_values
