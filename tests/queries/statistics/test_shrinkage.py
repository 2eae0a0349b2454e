"""Empirical Bayes: published fits and an independent optimum."""

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import betabinom

from queries.statistics.shrinkage import (
    BetaBinomial,
    fit_beta_binomial,
    shrunk_rates,
)
from tests.queries.statistics.rats import RATS


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


def test_groups_that_do_not_differ_have_no_spread() -> None:
    # Less spread than chance gives: the best fit is no spread at all.
    x, n = np.full(10, 5.0), np.full(10, 100.0)
    spread = fit_beta_binomial(x, n)
    assert spread.strength == float("inf")
    assert shrunk_rates(x, n, spread) == pytest.approx(np.full(10, 0.05))


def test_spread_has_its_parameters() -> None:
    spread = BetaBinomial(0.2, 10)
    assert (spread.alpha, spread.beta) == pytest.approx((2, 8))
