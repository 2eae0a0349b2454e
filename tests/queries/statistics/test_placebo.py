"""The placebo test holds the training effect to its promise."""

import numpy as np
import pytest
from scipy.stats import binomtest

from queries.statistics.placebo import placebo_test
from queries.statistics.training import BeforeAfter


def quiet(rng: np.random.Generator, crews: int = 15) -> BeforeAfter:
    """Crews that differ and do not change."""
    true = rng.beta(4, 76, crews)
    n = np.full(crews, 300.0)
    return BeforeAfter(
        rng.binomial(300, true).astype(float),
        n,
        rng.binomial(300, true).astype(float),
        n,
    )


def test_where_nothing_happened_little_is_claimed() -> None:
    rng = np.random.default_rng(81)
    found = placebo_test([quiet(rng) for _ in range(12)])
    assert found.tried == 180
    margin = 4 * np.sqrt(0.05 * 0.95 / 180)
    assert found.share == pytest.approx(0.05, abs=margin)
    # The worst crew before each day would have been chosen; luck is not taken for it.
    assert found.worst_tried == 12
    assert found.worst_claimed / 12 < 0.05 + 4 * np.sqrt(0.05 * 0.95 / 12)
    claimed = found.fell + found.rose
    limits = binomtest(claimed, 180).proportion_ci(0.95, "exact")
    assert (found.low, found.high) == pytest.approx((limits.low, limits.high))


def test_a_change_is_claimed() -> None:
    counts = quiet(np.random.default_rng(82))
    counts.x_before[3], counts.x_after[3] = 90, 6
    found = placebo_test([counts])
    assert found.fell >= 1
    assert (found.worst_tried, found.worst_claimed) == (1, 1)


def test_nothing_to_try() -> None:
    n = np.full(2, 50.0)
    none = BeforeAfter(np.zeros(2), n, np.zeros(2), n)
    found = placebo_test([none])
    assert (found.tried, found.share, found.low, found.high) == (0, 0.0, 0.0, 1.0)
