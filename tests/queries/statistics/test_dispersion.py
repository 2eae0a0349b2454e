"""Do days vary more than binomial: exact moments by shuffling, size and power."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import chi2_contingency

from queries.statistics.dispersion import day_dispersion, sum_days, table_moments


def moments(x: NDArray[np.int64], n: NDArray[np.int64]) -> list[float]:
    one = np.zeros(len(n), dtype=np.int64)
    return [float(value[0]) for value in table_moments(sum_days(x, n, one))]


def test_chi_square_is_pearson_s() -> None:
    x, n = np.array([1, 4, 0, 7]), np.array([10, 20, 5, 15])
    expected = chi2_contingency([x, n - x], correction=False).statistic
    assert moments(x, n)[0] == pytest.approx(expected)


# The exact mean and variance given the margins, by dealing the nonconforming anchors
# out again 200,000 times.
def test_moments_by_dealing_again() -> None:
    n = np.array([3, 8, 2, 5, 12])
    found = moments(np.array([1, 2, 0, 1, 2]), n)
    rng = np.random.default_rng(1)
    draws = rng.multivariate_hypergeometric(n, 6, size=200_000)
    p = 6 / 30
    chi_square = ((draws - n * p) ** 2 / (n * p * (1 - p))).sum(axis=1)
    assert found[1] == pytest.approx(chi_square.mean(), rel=0.01)
    assert found[2] == pytest.approx(chi_square.var(), rel=0.02)


def weeks(rng: np.random.Generator, spread: float) -> float:
    """Return the p-value of 12 weeks of 5 days of about 8 anchors, rate 6 %."""
    stratum = np.repeat(np.arange(12), 5)
    n = rng.integers(3, 14, 60)
    a = 0.06 * spread
    p = rng.beta(a, spread - a, 60) if spread else np.full(60, 0.06)
    return day_dispersion(rng.binomial(n, p), n, stratum).p_value


def test_false_alarms_and_power() -> None:
    rng = np.random.default_rng(2)
    size = np.mean([weeks(rng, 0) <= 0.05 for _ in range(2000)])
    # Monte Carlo margin of 4 standard errors: 0.02.
    assert size == pytest.approx(0.05, abs=0.02)
    # Beta with 5 pseudo-anchors: intra-day correlation 1 / 6.
    power = np.mean([weeks(rng, 5) <= 0.05 for _ in range(300)])
    assert power > 0.8


def test_strata_that_cannot_vary_say_nothing() -> None:
    one = np.array([0, 0, 1])
    found = day_dispersion(np.array([0, 0, 3]), np.array([5, 5, 9]), one)
    assert (found.ratio, found.p_value, found.days) == (1.0, 1.0, 0)
