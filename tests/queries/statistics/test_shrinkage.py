"""Empirical Bayes: published fits, an independent optimum, and ties as ties."""

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import betabinom

from queries.statistics.shrinkage import (
    BetaBinomial,
    _tied,
    fit_beta_binomial,
    rank_intervals,
    shrunk_rates,
)

# Tumours in 70 groups of rats, as (tumours, rats): R package BayesGOF, vignette
# (gMLE.bb): alpha 2.304768, beta 14.079707.
RATS = [(0, n) for n in [20] * 7 + [19] * 4 + [18] * 2 + [17]]
RATS += [(1, n) for n in (20, 20, 20, 20, 19, 19, 18, 18)]
RATS += [(3, 27), (2, 25), (2, 24), (2, 23), *[(2, 20)] * 6, (1, 10), (5, 49), (2, 19)]
RATS += [(5, 46), (2, 17), (7, 49), (7, 47), (3, 20), (3, 20), (2, 13), (9, 48)]
RATS += [(10, 50), *[(4, 20)] * 7, (10, 48), (4, 19), (4, 19), (4, 19), (5, 22)]
RATS += [
    (11, 46),
    (12, 49),
    (5, 20),
    (5, 20),
    (6, 23),
    (5, 19),
    (6, 22),
    *[(6, 20)] * 3,
]
RATS += [(16, 52), (15, 46), (15, 47), (9, 24)]

# Efron and Morris 1977, Scientific American 236(5):119-127: hits in the first 45 times
# at bat of 18 players, and their average over the rest of the season.
HITS = [18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7]
SEASON = [0.346, 0.298, 0.276, 0.222, 0.273, 0.27, 0.263, 0.21, 0.269, 0.23]
SEASON += [0.264, 0.256, 0.303, 0.264, 0.226, 0.285, 0.316, 0.2]


def test_rat_tumours() -> None:
    assert len(RATS) == 70
    x, n = np.array(RATS, dtype=float).T
    spread = fit_beta_binomial(x, n)
    assert spread.alpha == pytest.approx(2.304768, rel=2e-4)
    assert spread.beta == pytest.approx(14.079707, rel=2e-4)


def test_the_optimum_of_another_optimiser() -> None:
    rng = np.random.default_rng(8)
    n = rng.integers(20, 400, 25)
    x = rng.binomial(n, rng.beta(2, 30, 25))

    def loss(logs: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
        return -float(betabinom.logpmf(x, n, *np.exp(logs)).sum())

    best = minimize(loss, [0, 3], method="Nelder-Mead", options={"xatol": 1e-8})
    spread = fit_beta_binomial(x.astype(float), n.astype(float))
    assert [spread.alpha, spread.beta] == pytest.approx(np.exp(best.x), rel=1e-3)


# The article: shrinking towards the grand average 0.265 (factor 0.212) predicts the
# season with a third of the error of the averages themselves.
def test_baseball_averages_shrink_and_predict_better() -> None:
    x, n = np.array(HITS, dtype=float), np.full(18, 45.0)
    spread = fit_beta_binomial(x, n)
    assert spread.mean == pytest.approx(0.265, abs=0.001)
    shrunk = shrunk_rates(x, n, spread)
    own = np.sum((x / n - SEASON) ** 2)
    eb = np.sum((shrunk - SEASON) ** 2)
    assert eb < own / 3
    if np.isfinite(spread.strength):
        assert 45 / (45 + spread.strength) < 0.35


def test_groups_that_do_not_differ_are_one_tie() -> None:
    # Less spread than chance gives: the best fit is no spread at all.
    x, n = np.full(10, 5.0), np.full(10, 100.0)
    spread = fit_beta_binomial(x, n)
    assert spread.strength == float("inf")
    assert shrunk_rates(x, n, spread) == pytest.approx(np.full(10, 0.05))
    low, high = rank_intervals(x, n, spread)
    assert (set(low), set(high)) == ({1}, {10})


def test_equal_counts_share_a_place() -> None:
    # Drawn places of equal groups differ by the luck of the draw: shown as one tie.
    x, n = np.array([60.0, *[5.0] * 14, 0.0]), np.full(16, 100.0)
    low, high = rank_intervals(x, n, fit_beta_binomial(x, n))
    assert (low[0], high[0]) == (1, 1)
    assert len(set(zip(low[1:15], high[1:15], strict=True))) == 1
    assert low[1] == 2
    assert high[15] == 16


def test_a_tie_takes_the_widest_ends() -> None:
    x, n = np.array([5.0, 5.0, 9.0, 5.0]), np.array([50.0, 50.0, 50.0, 60.0])
    low, high = np.array([3.0, 2.0, 1.0, 4.0]), np.array([3.0, 4.0, 1.0, 4.0])
    assert list(_tied(x, n, low, np.minimum)) == [2, 2, 1, 4]
    assert list(_tied(x, n, high, np.maximum)) == [4, 4, 1, 4]


# 40 crews that are all alike: the worst raw rate is mostly one of the ten smallest
# (a quarter of the time if size did not matter), and the EB rates show no such crew.
def test_the_worst_of_identical_crews_is_luck() -> None:
    rng = np.random.default_rng(20)
    n = np.round(np.geomspace(20, 400, 40))
    small = wide = 0
    for _ in range(200):
        x = rng.binomial(n.astype(int), 0.05).astype(float)
        small += int(np.argmax(x / n) < 10)
        spread = fit_beta_binomial(x, n)
        rates = shrunk_rates(x, n, spread)
        wide += int(rates.max() < 0.09)
    assert small / 200 > 0.55
    assert wide / 200 > 0.95


def test_rank_intervals_hold_the_true_place() -> None:
    rng = np.random.default_rng(21)
    n = np.full(12, 200.0)
    held = []
    widths = []
    for _ in range(60):
        true = rng.beta(4, 76, 12)
        x = rng.binomial(200, true).astype(float)
        low, high = rank_intervals(x, n, fit_beta_binomial(x, n))
        place = np.argsort(np.argsort(-true)) + 1
        held += list((low <= place) & (place <= high))
        widths.append(np.mean(high - low + 1))
    assert np.mean(held) > 0.90
    assert 5 < np.mean(widths) < 11


def test_spread_has_its_parameters() -> None:
    spread = BetaBinomial(0.2, 10)
    assert (spread.alpha, spread.beta) == pytest.approx((2, 8))
