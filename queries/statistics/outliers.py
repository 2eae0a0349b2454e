"""Most crews are alike, and a few are not: probable rates that tell the two apart.

A single spread fitted to sixty crews at 2 % and one at 15 % takes most of the 15 % for
luck. Here each crew belongs to the many or, with a small chance that is fitted too, to
the few whose rate could be anything.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.shrinkage import (
    BetaBinomial,
    fit_beta_binomial,
    shrunk_rates,
)

Floats = NDArray[np.float64]

ROUNDS = 30


@dataclass(frozen=True)
class ManyAndFew:
    """`spread` of the many; `unlike`: each crew's chance of being one of the few."""

    spread: BetaBinomial
    unlike: Floats

    def rates(self, x: Floats, n: Floats) -> Floats:
        """Return each crew's expected true rate."""
        alike = shrunk_rates(x, n, self.spread)
        return np.asarray(alike + self.unlike * ((x + 1) / (n + 2) - alike))

    def draws(
        self, x: float, n: float, unlike: float, count: int, rng: np.random.Generator
    ) -> Floats:
        """Return draws of one crew's true rate given its counts."""
        free = rng.beta(x + 1, n - x + 1, count)
        if np.isinf(self.spread.strength):
            alike = np.full(count, self.spread.mean)
        else:
            alike = rng.beta(self.spread.alpha + x, self.spread.beta + n - x, count)
        return np.where(rng.random(count) < unlike, free, alike)


def fit_many_and_few(x: Floats, n: Floats) -> ManyAndFew:
    """Return the fit by expectation and maximisation, 30 rounds.

    The many: a beta distribution of rates; the few: any rate from 0 to 1 alike, a
    uniform prior. Their share starts at one crew and never falls below half a crew.
    Needs 0 < sum x < sum n; crews with n = 0 are of the many.
    """
    floor = 0.5 / len(x)
    share, unlike = 2 * floor, np.zeros(len(x))
    spread = fit_beta_binomial(x, n)
    for _ in range(ROUNDS):
        few = np.log(share) + special.betaln(x + 1, n - x + 1)
        many = np.log1p(-share) + _log_likelihood(x, n, spread)
        new = special.expit(few - many)
        new[n == 0] = 0.0
        is_settled = bool(np.max(np.abs(new - unlike)) < 1e-4)
        unlike = new
        if is_settled:
            break
        share = min(max(float(unlike.mean()), floor), 0.5)
        kept = (1 - unlike) * x
        if not 0 < kept.sum() < ((1 - unlike) * n).sum():
            break
        spread = fit_beta_binomial(x, n, 1 - unlike)
    return ManyAndFew(spread, unlike)


def _log_likelihood(x: Floats, n: Floats, spread: BetaBinomial) -> Floats:
    """Return log P(x of n) without the binomial coefficient, which both parts share."""
    if np.isinf(spread.strength):
        p = spread.mean
        return np.asarray(x * np.log(p) + (n - x) * np.log1p(-p))
    a, b = spread.alpha, spread.beta
    return np.asarray(special.betaln(x + a, n - x + b) - special.betaln(a, b))
