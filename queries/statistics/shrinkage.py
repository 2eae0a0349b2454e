"""Empirical Bayes: what a group's rate probably is, once luck is taken into account."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

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
    Golden-section search over the logarithm of the strength, the best mean for each by
    Newton's method. Needs 0 < sum x < sum n.
    """
    w = np.ones(len(x)) if weight is None else weight
    low, high = 0.0, float(np.log(LARGEST_STRENGTH))
    golden = (np.sqrt(5) - 1) / 2
    left, right = high - golden * (high - low), low + golden * (high - low)
    mean = float((w * x).sum() / (w * n).sum())
    at_left, mean = _profile(left, x, n, w, mean)
    at_right, mean = _profile(right, x, n, w, mean)
    while high - low > 1e-5:
        if at_left >= at_right:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left, mean = _profile(left, x, n, w, mean)
        else:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right, mean = _profile(right, x, n, w, mean)
    strength = float(np.exp((low + high) / 2))
    if strength > LARGEST_STRENGTH / 10:
        return BetaBinomial(float((w * x).sum() / (w * n).sum()), float("inf"))
    return BetaBinomial(_best_mean(strength, x, n, w, mean), strength)


def _profile(
    log_strength: float, x: Floats, n: Floats, w: Floats, start: float
) -> tuple[float, float]:
    """Return the log-likelihood of a strength, up to a constant, and its best mean.

    `start`: a mean from which the best is sought.
    """
    strength = float(np.exp(log_strength))
    mean = _best_mean(strength, x, n, w, start)
    a = mean * strength
    b = strength - a
    logs = special.betaln(x + a, n - x + b) - special.betaln(a, b)
    return float(np.sum(w * logs)), mean


def _best_mean(strength: float, x: Floats, n: Floats, w: Floats, start: float) -> float:
    """Return the mean at which the slope, which falls all the way, crosses 0.

    One Newton step, then secants, within brackets: the second derivative costs several
    times the first.
    """
    low, high, mean = 0.0, 1.0, start
    slope = _slope(mean, strength, x, n, w)
    bend = _bend(mean, strength, x, n, w)
    for _ in range(60):
        low, high = (mean, high) if slope > 0 else (low, mean)
        step = mean - slope / bend if bend < 0 else low
        new = step if low < step < high else (low + high) / 2
        if abs(new - mean) < 1e-11:
            return new
        new_slope = _slope(new, strength, x, n, w)
        mean, slope, bend = new, new_slope, (new_slope - slope) / (new - mean)
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
