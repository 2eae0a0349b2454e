"""Whom to retrain on what: expected gain, and how many alarms luck would raise."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.comparison import Probable
from queries.statistics.outliers import fit_many_and_few
from queries.statistics.shrinkage import better_quarter, fit_beta_binomial
from queries.statistics.spread_posterior import SpreadPosterior

Floats = NDArray[np.float64]

# A crew less likely than this to be unlike the others is taken as one of them.
SURELY_ALIKE = 0.01
# Of all the chance that there is.
NEGLIGIBLE = 1e-9


@dataclass(frozen=True)
class Avoidable:
    """Nonconforming anchors that a reachable rate would spare, one entry a crew.

    `low` and `high` are those at the ends of the crew's own 95 % interval; NaN where
    nothing is known of the crew.
    """

    count: Floats
    low: Floats
    high: Floats


def keep_own_rates(probable: Probable, is_clear: NDArray[np.bool_]) -> Probable:
    """Return the probable rates, a crew unlike the others keeping its own.

    One spread over sixty crews at 2 % and one at 80 % takes much of the 80 % for luck.
    So each crew `is_clear` of chance has, with its chance of being unlike
    (queries/statistics/outliers.py, as before a training), its own rate under a
    uniform prior, and the shrunk one else: a mixture, whose mean and quantiles are
    returned. Of one nonconforming anchor of one the few could make 67 %: a crew that
    chance may explain keeps the shrunk rate.
    """
    if probable.posterior is None or not is_clear.any():
        return probable
    here = probable.n > 0
    unlike = np.zeros(len(here))
    unlike[here] = fit_many_and_few(probable.x[here], probable.n[here]).unlike
    unlike[~is_clear] = 0.0
    rate, low, high = probable.rate.copy(), probable.low.copy(), probable.high.copy()
    for crew in np.flatnonzero(unlike > SURELY_ALIKE):
        one = slice(crew, crew + 1)
        x, n = probable.x[one], probable.n[one]
        mixed = _with_own(probable.posterior, float(unlike[crew]))
        rate[one] = mixed.rates(x, n)
        low[one], high[one] = mixed.rate_intervals(x, n)
    return replace(probable, rate=rate, low=low, high=high)


def _with_own(posterior: SpreadPosterior, unlike: float) -> SpreadPosterior:
    """Add a uniform beta distribution (mean 1/2, strength 2) by its chance.

    The chances are given the counts already, as are the weights of the posterior. What
    weighs too little to be seen in any figure is left out.
    """
    weight = (1 - unlike) * posterior.weight
    here = weight > NEGLIGIBLE
    return SpreadPosterior(
        np.append(posterior.mean[here], 0.5),
        np.append(posterior.strength[here], 2.0),
        np.append(weight[here], 1 - weight[here].sum()),
    )


def at_own_mix(probable: Probable) -> Probable:
    """Return the rates for the work that each crew does, from those at the average mix.

    What a crew does next is what it did: a crew of hard work has more to spare.
    """

    def own(rate: Floats) -> Floats:
        return np.asarray(np.minimum(rate * probable.difficulty, 1.0))

    return replace(
        probable,
        rate=own(probable.rate),
        low=own(probable.low),
        high=own(probable.high),
    )


def avoidable(probable: Probable, planned: Floats, reachable: Floats) -> Avoidable:
    """Return max(rate - reachable, 0) x planned holes, for the rate and its interval.

    The rates are shrunk ones, so that last month's bad luck is not taken for
    what training could change.
    """

    def spared(rate: Floats) -> Floats:
        return np.asarray(np.maximum(rate - reachable, 0.0) * planned)

    return Avoidable(spared(probable.rate), spared(probable.low), spared(probable.high))


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
