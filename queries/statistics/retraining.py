"""Whom to retrain on what: expected gain, and how many alarms luck would raise."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.shrinkage import better_quarter, fit_beta_binomial

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Avoidable:
    """Nonconforming anchors that reaching `reachable` would spare, one entry a crew.

    `low` and `high` are those at the ends of the crew's own 95 % interval; NaN where
    nothing is known of the crew.
    """

    reachable: float
    count: Floats
    low: Floats
    high: Floats


def avoidable(
    eb_rate: Floats, eb_low: Floats, eb_high: Floats, planned: Floats, reachable: float
) -> Avoidable:
    """Return max(rate - reachable, 0) x planned holes, for the rate and its interval.

    The rates are shrunk ones, so that last month's bad luck is not taken for
    what training could change.
    """

    def spared(rate: Floats) -> Floats:
        return np.asarray(np.maximum(rate - reachable, 0.0) * planned)

    return Avoidable(reachable, spared(eb_rate), spared(eb_low), spared(eb_high))


def reachable_rate(x: Floats, n: Floats) -> float:
    """Return the rate that the better quarter of crews is below; 0 with nothing found.

    `x` of `n` each crew's counts. Taken from the likeliest spread of true rates, not
    from the crews' own figures, whose best are the luckiest.
    """
    if not x.sum() > 0:
        return 0.0
    if not x.sum() < n.sum():
        return 1.0
    return better_quarter(fit_beta_binomial(x[n > 0], n[n > 0]))


def chance_alarms(pairs: int, sigmas: float) -> float:
    """Return how many of so many quiet pairs lie beyond so many sigmas, either side."""
    return float(pairs * 2 * special.ndtr(-sigmas))
