"""Empirical Bayes: what a group's rate probably is, once luck is taken into account."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

Floats = NDArray[np.float64]

# Rates of groups with this many pseudo-anchors do not differ in any way one could see.
LARGEST_STRENGTH = 1e7


@dataclass(frozen=True)
class BetaBinomial:
    """How the groups' true rates spread: a beta distribution.

    `mean` their mean, `strength` the pseudo-anchors behind it (alpha + beta);
    infinity where the groups differ no more than chance explains.
    """

    mean: float
    strength: float

    @property
    def alpha(self) -> float:
        """The beta distribution's first parameter."""
        return self.mean * self.strength

    @property
    def beta(self) -> float:
        """The beta distribution's second parameter."""
        return (1 - self.mean) * self.strength


def fit_beta_binomial(
    x: Floats, n: Floats, weight: Floats | None = None
) -> BetaBinomial:
    """Return the maximum-likelihood beta-binomial of x of n in each group.

    Counts need not be whole; `weight` is how much each group counts (None: all 1).
    Brent's search over the logarithm of the strength, to a thousandth of it, the best
    mean for each by secants. Needs 0 < sum x < sum n.
    """
    w = np.ones(len(x)) if weight is None else weight
    best = _BestMean(x, n, w)
    found = optimize.minimize_scalar(
        lambda log_strength: -best.likelihood(log_strength),
        bounds=(0.0, float(np.log(LARGEST_STRENGTH))),
        method="bounded",
        options={"xatol": 1e-3},
    )
    strength = float(np.exp(found.x))
    if strength > LARGEST_STRENGTH / 10:
        return BetaBinomial(float((w * x).sum() / (w * n).sum()), float("inf"))
    return BetaBinomial(best.mean(strength), strength)


class _BestMean:
    """The best mean of one strength after another, each sought from the one before."""

    def __init__(self, x: Floats, n: Floats, w: Floats) -> None:
        self._x, self._n, self._w = x, n, w
        self._mean = float((w * x).sum() / (w * n).sum())
        # The slope's derivative there, which costs several times the slope: it is
        # worked out once, then taken from the last secant.
        self._bend: float | None = None

    def likelihood(self, log_strength: float) -> float:
        """Return the log-likelihood at the best mean, less a constant."""
        x, n = self._x, self._n
        strength = float(np.exp(log_strength))
        a = self.mean(strength) * strength
        b = strength - a
        logs = special.betaln(x + a, n - x + b) - special.betaln(a, b)
        return float(np.sum(self._w * logs))

    def mean(self, strength: float) -> float:
        """Return the mean at which the slope, which falls all the way, crosses 0.

        Secants within brackets.
        """
        given = strength, self._x, self._n, self._w
        low, high, mean = 0.0, 1.0, self._mean
        slope = _slope(mean, *given)
        bend = _bend(mean, *given) if self._bend is None else self._bend
        for _ in range(60):
            low, high = (mean, high) if slope > 0 else (low, mean)
            step = mean - slope / bend if bend < 0 else low
            new = step if low < step < high else (low + high) / 2
            if abs(new - mean) < 1e-11:
                break
            new_slope = _slope(new, *given)
            mean, slope, bend = new, new_slope, (new_slope - slope) / (new - mean)
        self._mean, self._bend = mean, bend
        return mean


def _slope(mean: float, strength: float, x: Floats, n: Floats, w: Floats) -> float:
    """Return the derivative of the log-likelihood by the mean, over the strength."""
    a, b = mean * strength, (1 - mean) * strength
    up = special.psi(x + a) - special.psi(a)
    return float(w @ (up - special.psi(n - x + b) + special.psi(b)))


def _bend(mean: float, strength: float, x: Floats, n: Floats, w: Floats) -> float:
    """Return the derivative of the slope."""
    a, b = mean * strength, (1 - mean) * strength
    # zeta(2, .) is the trigamma function, without polygamma's checks.
    up = special.zeta(2, x + a) - special.zeta(2, a)
    return strength * float(w @ (up + special.zeta(2, n - x + b) - special.zeta(2, b)))


def shrunk_rates(x: Floats, n: Floats, spread: BetaBinomial) -> Floats:
    """Return (alpha + x) / (alpha + beta + n): each group's expected true rate."""
    if np.isinf(spread.strength):
        return np.full(len(x), spread.mean)
    return np.asarray((spread.alpha + x) / (spread.strength + n))


def better_quarter(spread: BetaBinomial) -> float:
    """Return the true rate that the better quarter of groups is below."""
    if np.isinf(spread.strength):
        return spread.mean
    return float(special.betaincinv(spread.alpha, spread.beta, 0.25))
