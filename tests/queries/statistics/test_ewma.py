"""EWMA: the handbook's case, the published run length, and simulation."""

import numpy as np
import pytest
from scipy.stats import binom, norm

from queries.statistics.chart_rules import shewhart_rules
from queries.statistics.ewma import WEIGHT, ewma, ewma_half_width, ewma_run_length

# NIST/SEMATECH e-Handbook 6.3.2.4 (page text, second hand): 20 observations, target
# 50, weight 0.3, s = 2.0539; EWMA to two decimals, limits 47.4115 and 52.5884.
DATA = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5]
DATA += [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
AVERAGES = [50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
AVERAGES += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]


def test_the_handbook_s_averages_and_limits() -> None:
    assert ewma(np.array(DATA), 50, 0.3) == pytest.approx(AVERAGES, abs=0.0051)
    half = ewma_half_width(2.0539, 0.3, 3)
    assert 50 + half == pytest.approx(52.5884, abs=1.01e-4)
    assert 50 - half == pytest.approx(47.4115, abs=1.01e-4)


# Lucas and Saccucci 1990, Technometrics 32:1-12, as in Montgomery's table of EWMA
# schemes (from memory): weight 0.2 with 2.962 sigmas, and 0.1 with 2.814: both 500.
@pytest.mark.parametrize(("weight", "width"), [(0.2, 2.962), (0.1, 2.814)])
def test_published_run_length(weight: float, width: float) -> None:
    assert ewma_run_length(norm.cdf, weight, width) == pytest.approx(500, rel=0.01)


def test_idle_periods_leave_the_average() -> None:
    values = np.array([1.0, np.nan, 1.0])
    assert ewma(values, 0.0, 0.5) == pytest.approx([0.5, 0.5, 0.75])


def test_stated_false_alarms_of_a_binomial_chart_by_simulation() -> None:
    n, p = 40, 0.08
    half = ewma_half_width()
    table = (np.arange(n + 1) - n * p) / np.sqrt(n * p * (1 - p))
    draws = binom.rvs(n, p, size=(1500, 3000), random_state=np.random.default_rng(3))
    average = np.zeros(1500)
    first = np.full(1500, 3000)
    for period in range(3000):
        average = WEIGHT * table[draws[:, period]] + (1 - WEIGHT) * average
        first = np.where((np.abs(average) > half) & (first == 3000), period + 1, first)
    stated = shewhart_rules(n, p)[1].run_length
    # Cut at 3000 periods: of a geometric wait of that mean this loses exp(-3000/mean).
    cut = stated * (1 - np.exp(-3000 / stated))
    margin = 4 * np.std(first) / np.sqrt(1500)
    assert np.mean(first) == pytest.approx(cut, abs=margin)
