"""One p-value a batch, and the probability that it is not like its peers."""

import numpy as np
import pytest
from scipy import optimize

from queries.statistics.two_groups import (
    UNLIKE_CREWS,
    _unlike,
    harmonic_mean_p,
    two_groups,
)


@pytest.mark.parametrize(("tests", "threshold"), [(10, 0.040), (100, 0.036)])
def test_harmonic_mean_holds_its_published_thresholds(
    tests: int, threshold: float
) -> None:
    # Wilson 2019, table 1: significance thresholds of the harmonic mean at 5 %, for 10
    # and 100 tests (from memory).
    p = np.random.default_rng(11).uniform(size=(20_000, tests))
    share = (harmonic_mean_p(p) <= threshold).mean()
    # Four standard errors, and the table's rounding (half a unit of 0.040).
    margin = 4 * np.sqrt(0.05 * 0.95 / 20_000) + 0.05 * 0.0005 / threshold
    assert share == pytest.approx(0.05, abs=margin)


def test_silent_signs_are_left_out() -> None:
    # 2 / (1/0.01 + 1/1) by hand.
    p = np.array([[0.01, 1.0, np.nan], [np.nan, np.nan, np.nan]])
    found = harmonic_mean_p(p)
    assert found[0] == pytest.approx(2 / 101)
    assert np.isnan(found[1])


def test_mixture_is_the_likeliest() -> None:
    # One crew: nothing to shrink, so the mixture is that of Pounds and Morris, found
    # here by scipy's general search.
    rng = np.random.default_rng(12)
    p = np.where(rng.random(3000) < 0.2, rng.beta(0.25, 1, 3000), rng.random(3000))
    found = two_groups(p, np.zeros(3000, dtype=np.int64), 1)
    logs = np.log(np.clip(p, 1e-9, 1))

    def loss(at: tuple[float, float]) -> float:
        share, shape = at
        height = 1 - share + share * shape * np.exp((shape - 1) * logs)
        return -float(np.log(height).sum())

    best = optimize.minimize(loss, (0.1, 0.3), bounds=[(0.001, 0.9), (0.1, 0.5)])
    assert (found.share, found.shape) == pytest.approx(tuple(best.x), abs=0.01)


def test_what_shows_nothing_has_no_probability() -> None:
    found = two_groups(np.array([1.0, 1e-8, np.nan]), np.zeros(3, dtype=np.int64), 1)
    assert found.probability[0] == pytest.approx(0)
    assert found.probability[1] > 0.9
    assert np.isnan(found.probability[2])


def test_a_crew_that_is_odd_every_day_counts_more_than_a_single_day() -> None:
    # Crew 0 shows 0.0002 on each of 40 days, crew 1 once; 38 crews show nothing.
    crew = np.repeat(np.arange(40), 40)
    p = np.random.default_rng(13).uniform(0.2, 1, 1600)
    p[crew == 0] = 0.0002
    p[40] = 0.0002
    found = two_groups(p, crew, 40).probability
    assert found[0] > 0.9
    assert found[40] < 0.7


def test_a_habit_is_no_evidence_however_many_days_it_lasts() -> None:
    # The days of a crew at the upper end of habits are all a little unusual: 2 of 40
    # crews at 0.05 on each of 200 days, and once at a chance of one in two thousand.
    crew = np.repeat(np.arange(40), 200)
    p = np.random.default_rng(14).uniform(0, 1, 8000)
    p[crew < 2] = 0.05
    p[[0, 200]] = 0.0005
    assert two_groups(p, crew, 40).probability[[0, 200]].max() < 0.9


def test_the_factor_of_the_odds_is_worth_one_on_average() -> None:
    # Vovk and Wang 2021: the integral over (0, 1) of what a p-value is calibrated to,
    # here by the p-value of a crew's one other batch.
    grid = (np.arange(200_000) + 0.5) / 200_000
    p, crew = np.ones((200_000, 2)), np.repeat(np.arange(200_000), 2)
    p[:, 1] = grid
    unlike = _unlike(p.ravel(), crew, 200_000)[::2]
    factor = unlike / (1 - unlike) / (UNLIKE_CREWS / (1 - UNLIKE_CREWS))
    # Below a billionth p-values are not believed; the grid misses the steepest part.
    assert factor.mean() == pytest.approx(1, abs=0.1)
    # By hand at 0.01: (1 - 0.01 - 0.01 x 4.60517) / (0.01 x 4.60517^2).
    assert factor[1999] == pytest.approx(0.943948 / 0.2120759, rel=1e-3)
