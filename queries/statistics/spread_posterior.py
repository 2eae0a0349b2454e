"""Probable rates and places of groups when the spread of true rates is not known.

Groups' true rates follow a beta distribution whose mean and strength are integrated
over, as in Gelman et al., Bayesian Data Analysis, section 5.3: prior on (alpha, beta)
proportional to (alpha + beta)^(-5/2), that is uniform on the mean and on
strength^(-1/2). Strengths below 1, whose rates would nearly all be 0 or 1, are left
out, so that any counts have a posterior.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

STRENGTHS = 17
# Nodes of the mean on the logit scale, in standard deviations.
STEPS = np.linspace(-4.5, 4.5, 11)
# What lies so far (natural logarithm) below the highest posterior is left out.
NEGLIGIBLE = 12.0
NEGLIGIBLE_NODE = 8.0
DRAWS = 2000
DRAWN_AT_MOST = 100_000


@dataclass(frozen=True)
class SpreadPosterior:
    """Beta distributions of true rates, each with its posterior weight; weights sum 1.

    `mean` and `strength` (alpha + beta) as in BetaBinomial, one entry a node.
    """

    mean: Floats
    strength: Floats
    weight: Floats

    def rates(self, x: Floats, n: Floats) -> Floats:
        """Return each group's expected true rate, given its x of n."""
        a, b = self._given(x, n)
        return np.asarray(self.weight @ (a / (a + b)))

    def rate_intervals(self, x: Floats, n: Floats) -> tuple[Floats, Floats]:
        """Return the 95 % interval of each group's true rate: quantiles of the mixture.

        Secant steps between logit and probit, on which a beta distribution is nearly a
        straight line, from the quantile of the beta distribution of equal moments.
        """
        a, b = self._given(x, n)
        mean = self.weight @ (a / (a + b))
        square = self.weight @ (a * (a + 1) / ((a + b) * (a + b + 1)))
        size = mean * (1 - mean) / np.maximum(square - mean**2, 1e-300) - 1
        # As if normal on the logit scale.
        slope = np.sqrt(size * mean * (1 - mean))
        ends = []
        for share in (0.025, 0.975):
            start = special.betaincinv(mean * size, (1 - mean) * size, share)
            at = np.asarray(special.logit(np.clip(start, 1e-15, 1 - 1e-15)))
            ends.append(self._quantile(a, b, share, at, slope))
        return ends[0], ends[1]

    def _quantile(
        self, a: Floats, b: Floats, share: float, at: Floats, slope: Floats
    ) -> Floats:
        """Return the quantile from a start `at` and a slope of probit by logit."""
        goal = float(special.ndtri(share))
        miss = self._probit(a, b, at) - goal
        for _ in range(20):
            step = np.clip(-miss / slope, -2.0, 2.0)
            if np.max(np.abs(step)) < 0.02:
                # What is left after so small a secant step cannot be seen.
                return np.asarray(special.expit(at + step))
            new = self._probit(a, b, at + step) - goal
            moved = np.abs(step) > 1e-9
            found = (new - miss) / np.where(moved, step, 1.0)
            slope = np.where(moved & (found > 1e-6), found, slope)
            at, miss = at + step, new
        return np.asarray(special.expit(at))

    def _probit(self, a: Floats, b: Floats, at: Floats) -> Floats:
        share = self.weight @ special.betainc(a, b, special.expit(at))
        return np.asarray(special.ndtri(np.clip(share, 1e-300, 1 - 1e-16)))

    def rank_intervals(
        self, x: Floats, n: Floats, seed: int = 1
    ) -> tuple[Counts, Counts]:
        """Return the 95 % interval of each group's rank, 1 for the highest rate.

        From draws of all true rates at once, given the counts; the nodes take their
        turns by weight. Groups that the counts cannot tell apart have one interval.
        """
        m = len(x)
        draws = max(200, min(DRAWS, DRAWN_AT_MOST // max(m, 1)))
        turns = (np.arange(draws) + 0.5) / draws
        node = np.searchsorted(np.cumsum(self.weight), turns)
        node = np.minimum(node, len(self.weight) - 1)
        a, b = self._given(x, n)
        rates = np.random.default_rng(seed).beta(a[node], b[node])
        order = np.argsort(-rates, axis=1)
        ranks = np.empty_like(order)
        np.put_along_axis(ranks, order, np.arange(1, m + 1)[None, :], axis=1)
        low, high = np.quantile(ranks, [0.025, 0.975], axis=0, method="nearest")
        return _tied(x, n, low, np.minimum), _tied(x, n, high, np.maximum)

    def _given(self, x: Floats, n: Floats) -> tuple[Floats, Floats]:
        """Return the beta parameters given the counts, shape (nodes, groups)."""
        alpha = self.mean * self.strength
        beta = self.strength - alpha
        return alpha[:, None] + x, beta[:, None] + (n - x)


def spread_posterior(x: Floats, n: Floats) -> SpreadPosterior:
    """Return the posterior of the spread, given x of n in each group.

    Counts need not be whole. Trapezoid rule on a grid: the logarithm of the strength,
    first over all there is, then where the weight lies; for each the mean about its
    best. Beyond 100 pseudo-anchors for each one judged the rates are equal for all that
    one could see: the last strength stands for all above. Needs 0 < sum x < sum n.
    """
    last = float(np.log(100 * n.sum()))
    logs = np.linspace(0.0, last, STRENGTHS)
    means = np.full(STRENGTHS, float(x.sum() / n.sum()))
    grid, found, means = _weighed(logs, x, n, means, last)
    marginal = special.logsumexp(found, axis=1)
    kept = np.flatnonzero(marginal > marginal.max() - NEGLIGIBLE)
    low, high = max(kept[0] - 1, 0), min(kept[-1] + 1, STRENGTHS - 1)
    fine = np.linspace(logs[low], logs[high], STRENGTHS)
    grid, found, _ = _weighed(fine, x, n, np.interp(fine, logs, means), last)
    strength = np.broadcast_to(np.exp(fine)[:, None], grid.shape)
    here = found > found.max() - NEGLIGIBLE_NODE
    weight = np.exp(found[here] - found.max())
    return SpreadPosterior(grid[here], strength[here], weight / weight.sum())


def _weighed(
    logs: Floats, x: Floats, n: Floats, start: Floats, last: float
) -> tuple[Floats, Floats, Floats]:
    """Return nodes of the mean, shape (strengths, STEPS), and their log weights.

    And the best mean of each strength.
    """
    strength = np.exp(logs)[:, None]
    best, deviation = _best_means(strength, x, n, start)
    logit = special.logit(best)[:, None] + deviation[:, None] * STEPS
    mean = special.expit(logit)
    a = (mean * strength)[:, :, None]
    b = (special.expit(-logit) * strength)[:, :, None]
    ends = special.gammaln(x + a) - special.gammaln(a)
    ends += special.gammaln(n - x + b) - special.gammaln(b)
    both = special.gammaln(strength) - special.gammaln(strength + n)
    likelihood = ends.sum(axis=2) + both.sum(axis=1)[:, None]
    # Uniform in the mean, on the logit scale; uniform in strength^(-1/2).
    prior = special.log_expit(logit) + special.log_expit(-logit) - logs[:, None] / 2
    width = np.full(len(logs), logs[1] - logs[0])
    width[[0, -1]] /= 2
    width[-1] += 2.0 if logs[-1] >= last else 0.0
    size = np.log(deviation * width)[:, None]
    return mean, likelihood + prior + size, best


def _best_means(
    strength: Floats, x: Floats, n: Floats, start: Floats
) -> tuple[Floats, Floats]:
    """Return about the likeliest mean for each strength, shape (strengths, 1).

    And its standard deviation on the logit scale, under a uniform prior. They place
    the nodes only: an approximation does. Newton's method within brackets, the slope's
    derivative by a small step: the trigamma function costs several digammas.
    """

    def slope_at(mean: Floats) -> Floats:
        a, b = mean[:, None] * strength, (1 - mean)[:, None] * strength
        up = special.psi(x + a) - special.psi(a)
        return np.asarray((up - special.psi(n - x + b) + special.psi(b)).sum(axis=1))

    mean, low, high = start, np.zeros(len(start)), np.ones(len(start))
    for _ in range(30):
        slope = slope_at(mean)
        small = 1e-4 * mean * (1 - mean)
        bend = np.maximum((slope - slope_at(mean + small)) / small, 1e-300)
        low, high = np.where(slope > 0, mean, low), np.where(slope > 0, high, mean)
        with np.errstate(over="ignore"):  # A step without end leaves the bracket.
            step = mean + slope / bend
        new = np.where((low < step) & (step < high), step, (low + high) / 2)
        is_settled = bool(np.all(np.abs(new - mean) < 0.1 * mean * (1 - mean)))
        mean = new
        if is_settled:
            break
    spread = mean * (1 - mean)
    information = strength[:, 0] * bend * spread**2 + 2 * spread
    return mean, 1 / np.sqrt(information)


def _tied(x: Floats, n: Floats, ends: Floats, widest: np.ufunc) -> Counts:
    """Give groups of equal counts the widest of their ends."""
    _, same = np.unique(np.column_stack([x, n]), axis=0, return_inverse=True)
    same = same.ravel()
    shared = np.empty(int(same.max()) + 1)
    shared[same] = ends
    widest.at(shared, same, ends)
    return np.asarray(shared[same], dtype=np.int64)
