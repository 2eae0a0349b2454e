"""A placebo test: how often the estimate claims an effect where nobody was taught."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from queries.statistics.outliers import fit_many_and_few
from queries.statistics.training import BeforeAfter, draw_difference

# The ends of an interval need fewer draws to be held against 0 many times.
DRAWS = 4_000


@dataclass(frozen=True)
class Placebo:
    """How often "fell" or "rose" was said of `tried` trainings that never were.

    `share` of them with its exact 95 % limits. `worst`: the same of the crew with the
    highest rate before each day, which is the one somebody would have chosen.
    """

    tried: int
    fell: int
    rose: int
    share: float
    low: float
    high: float
    worst_tried: int
    worst_claimed: int


def placebo_test(windows: Sequence[BeforeAfter], seed: int = 1) -> Placebo:
    """Return what the estimate says of every crew at days on which nothing happened.

    A window holds the crews without a training about one such day. Windows in which
    nothing can be fitted, and crews that judged nothing on one side, are left out.
    Limits: Clopper and Pearson 1934; crews of one window share their trend, so that
    they are a little too narrow. 0 tried: a share of 0, limits 0 and 1.
    """
    rng = np.random.default_rng(seed)
    said: list[int] = []
    worst: list[int] = []
    for counts in windows:
        signs = _signs(counts, rng)
        said += signs.values()
        if signs:
            worst.append(signs[max(signs, key=lambda crew: _rate(counts, crew))])
    tried, claimed = len(said), sum(sign != 0 for sign in said)
    return Placebo(
        tried=tried,
        fell=said.count(-1),
        rose=said.count(1),
        share=claimed / tried if tried else 0.0,
        low=_limit(claimed, tried - claimed + 1, 0.025),
        high=_limit(claimed + 1, tried - claimed, 0.975) if claimed < tried else 1.0,
        worst_tried=len(worst),
        worst_claimed=sum(sign != 0 for sign in worst),
    )


def _rate(counts: BeforeAfter, crew: int) -> float:
    return float(counts.x_before[crew] / counts.n_before[crew])


def _limit(a: int, b: int, chance: float) -> float:
    return float(special.betaincinv(a, b, chance)) if a else 0.0


def _signs(counts: BeforeAfter, rng: np.random.Generator) -> dict[int, int]:
    """Return -1 (fell), 1 (rose) or 0 of each crew, as if it had been taught."""
    x, n = counts.x_before, counts.n_before
    if not 0 < x.sum() < n.sum():
        return {}
    fitted = fit_many_and_few(x, n)
    signs = {}
    for crew in np.flatnonzero((n > 0) & (counts.n_after > 0)):
        others = np.arange(len(n)) != crew
        if n[others].sum() <= 0 or counts.n_after[others].sum() <= 0:
            continue
        _, (low, high) = draw_difference(counts, int(crew), others, fitted, rng, DRAWS)
        signs[int(crew)] = int(low > 0) - int(high < 0)
    return signs
