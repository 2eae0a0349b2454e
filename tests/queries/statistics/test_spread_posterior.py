"""Rates and places with the spread integrated over: published, recomputed, covered."""

import math

import numpy as np
import pytest
from scipy import integrate, special
from scipy.stats import beta

from queries.statistics.spread_posterior import (
    SpreadPosterior,
    _tied,
    spread_posterior,
)
from tests.queries.statistics.rats import RATS

# Efron and Morris 1977, Scientific American 236(5):119-127: hits in the first 45 times
# at bat of 18 players, and their average over the rest of the season.
HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
SEASON = [0.346, 0.298, 0.276, 0.222, 0.273, 0.27, 0.263, 0.21, 0.269, 0.23]
SEASON += [0.264, 0.256, 0.303, 0.264, 0.226, 0.285, 0.316, 0.2]


# From memory: Bayesian Data Analysis, section 5.3, gives E(alpha) 2.4 and E(beta) 14.3
# for the rats, by a grid under the same prior.
def test_rat_tumours() -> None:
    x, n = np.array(RATS, dtype=float).T
    found = spread_posterior(x, n)
    alpha = found.weight @ (found.mean * found.strength)
    strength = found.weight @ found.strength
    assert (alpha, strength - alpha) == pytest.approx((2.4, 14.3), abs=0.05)


@pytest.mark.parametrize("bad", [(5.0, 14.0), (1.0, 0.0)])
def test_the_interval_s_ends_by_quadrature(bad: tuple[float, float]) -> None:
    x, n = np.array(bad), np.array([200.0, 200.0])
    low, high = spread_posterior(x, n).rate_intervals(x, n)

    def height(logit: float, u: float, cut: float) -> float:
        # Both uniform: the mean and strength^(-1/2), called u.
        mean, strength = 1 / (1 + math.exp(-logit)), u**-2
        a, b = mean * strength, (1 - mean) * strength
        log = math.log(mean * (1 - mean)) + 60
        for found, of in zip(x, n, strict=True):
            log += math.lgamma(a + found) - math.lgamma(a) + math.lgamma(b + of - found)
            log += math.lgamma(a + b) - math.lgamma(b) - math.lgamma(a + b + of)
        below = special.betainc(a + x[0], b + n[0] - x[0], cut)
        return float(below) * math.exp(log)

    parts = [
        integrate.dblquad(height, 0.003, 1, -12, 2, (cut,), epsabs=1e-30, epsrel=1e-3)[
            0
        ]
        for cut in (low[0], high[0], 1.0)
    ]
    assert parts[0] / parts[2] == pytest.approx(0.025, abs=0.001)
    assert parts[1] / parts[2] == pytest.approx(0.975, abs=0.001)


def test_a_known_spread_is_the_beta_posterior() -> None:
    known = SpreadPosterior(np.array([0.1]), np.array([30.0]), np.array([1.0]))
    x, n = np.array([4.0]), np.array([50.0])
    law = beta(3 + 4, 27 + 46)
    low, high = known.rate_intervals(x, n)
    ends = (law.ppf(0.025), law.ppf(0.975))
    assert (low[0], high[0]) == pytest.approx(ends, rel=1e-3)
    assert known.rates(x, n)[0] == pytest.approx(law.mean())


# Rates of nonconformance as simulated elsewhere: 5 % on average, strength 60.
@pytest.mark.parametrize("groups", [2, 5, 8])
def test_few_groups_intervals_hold_the_truth(groups: int) -> None:
    rng = np.random.default_rng(groups)
    n = np.full(groups, 200.0)
    held = []
    for _ in range(400 // groups):
        true = rng.beta(3, 57, groups)
        x = rng.binomial(200, true).astype(float)
        found = spread_posterior(x, n)
        low, high = found.rate_intervals(x, n)
        rates = found.rates(x, n)
        assert np.all((low < rates) & (rates < high))
        held.append(np.mean((low <= true) & (true <= high)))
    # Promised 95 %; at least 90 % is asked. Three standard errors of these runs.
    margin = 3 * np.std(held) / np.sqrt(len(held))
    assert np.mean(held) >= 0.90
    assert np.mean(held) == pytest.approx(0.95, abs=max(margin, 0.03))


def test_groups_that_do_not_differ_are_one_tie() -> None:
    x, n = np.array([5.0, 4, 6, 5, 5, 5, 4, 6, 5, 5]), np.full(10, 100.0)
    found = spread_posterior(x, n)
    low, high = found.rank_intervals(x, n)
    # Everyone's places overlap everyone's.
    assert low.max() < high.min()
    # No point: nobody knows that they are all alike.
    first, last = found.rate_intervals(x, n)
    assert np.all(last - first > 0.02)


# The article: shrinking towards the grand average 0.265 (factor 0.212) predicts the
# season with a third of the error of the averages themselves.
def test_baseball_averages_shrink_and_predict_better() -> None:
    x, n = np.array(HITS, dtype=float), np.full(18, 45.0)
    shrunk = spread_posterior(x, n).rates(x, n)
    assert shrunk.mean() == pytest.approx(0.265, abs=0.002)
    own = np.sum((x / n - SEASON) ** 2)
    assert np.sum((shrunk - SEASON) ** 2) < own / 3
    factor = (shrunk[0] - shrunk[-1]) / (x[0] - x[-1]) * 45
    assert factor == pytest.approx(0.212, abs=0.03)


def test_equal_counts_share_a_place() -> None:
    # Drawn places of equal groups differ by the luck of the draw: shown as one tie.
    x, n = np.array([60.0, *[5.0] * 14, 0.0]), np.full(16, 100.0)
    low, high = spread_posterior(x, n).rank_intervals(x, n)
    assert (low[0], high[0]) == (1, 1)
    assert len(set(zip(low[1:15], high[1:15], strict=True))) == 1
    assert low[1] == 2
    assert high[15] == 16


def test_a_tie_takes_the_widest_ends() -> None:
    x, n = np.array([5.0, 5.0, 9.0, 5.0]), np.array([50.0, 50.0, 50.0, 60.0])
    low, high = np.array([2.0, 3.0, 1.0, 4.0]), np.array([4.0, 3.0, 1.0, 4.0])
    assert list(_tied(x, n, low, np.minimum)) == [2, 2, 1, 4]
    assert list(_tied(x, n, high, np.maximum)) == [4, 4, 1, 4]


# 40 crews that are all alike: the worst raw rate is mostly one of the ten smallest
# (a quarter of the time if size did not matter), and probable rates show no such crew.
def test_the_worst_of_identical_crews_is_luck() -> None:
    rng = np.random.default_rng(20)
    n = np.round(np.geomspace(20, 400, 40))
    small = wide = 0
    for _ in range(100):
        x = rng.binomial(n.astype(int), 0.05).astype(float)
        small += int(np.argmax(x / n) < 10)
        rates = spread_posterior(x, n).rates(x, n)
        wide += int(rates.max() < 0.09)
    assert small / 100 > 0.55
    assert wide / 100 > 0.95


def test_rank_intervals_hold_the_true_place() -> None:
    rng = np.random.default_rng(21)
    n = np.full(12, 200.0)
    held = []
    widths = []
    for _ in range(60):
        true = rng.beta(4, 76, 12)
        x = rng.binomial(200, true).astype(float)
        low, high = spread_posterior(x, n).rank_intervals(x, n)
        place = np.argsort(np.argsort(-true)) + 1
        held += list((low <= place) & (place <= high))
        widths.append(np.mean(high - low + 1))
    assert np.mean(held) > 0.90
    assert 5 < np.mean(widths) < 11
