"""Too little variation, against batches whose variances differ by themselves."""

import numpy as np
import pytest
from scipy import stats

from queries.statistics.peer_spread import fit_spread, too_alike


def test_usual_variance_and_its_freedom_come_back() -> None:
    # Variances as the model has them: 0.03 x F(8, 12), drawn by scipy.
    drawn = 0.03 * stats.f.rvs(8, 12, size=4000, random_state=3)
    usual, known = fit_spread(drawn, np.full(4000, 8.0))
    # Median and deviation of 4000: some 2 and 3 %, and a robust fit's own bias.
    assert usual == pytest.approx(0.03, rel=0.1)
    assert known == pytest.approx(12, rel=0.3)


def test_batches_that_differ_by_chance_only() -> None:
    drawn = 0.03 * stats.chi2.rvs(8, size=4000, random_state=3) / 8
    usual, known = fit_spread(drawn, np.full(4000, 8.0))
    assert usual == pytest.approx(0.03, rel=0.05)
    assert known > 100


def test_a_crew_without_variation_stands_out_and_no_other() -> None:
    rng = np.random.default_rng(5)
    crew = np.repeat(np.arange(6), 50)
    variance = 0.03 * rng.chisquare(9, 300) / 9
    variance[crew == 0] = 0
    floor = np.full(300, 0.0002)
    site = np.zeros(300, dtype=np.int64)
    chance, usual = too_alike(variance, np.full(300, 9), floor, site, crew)
    assert chance[crew == 0].max() < 1e-6
    assert usual[crew == 0] == pytest.approx(np.full(50, 0.0302), rel=0.1)
    honest = chance[crew > 0]
    # At most 5 % at 0.05, within four standard errors of 250.
    assert (honest <= 0.05).mean() <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / 250)


def test_where_many_read_one_mark_nobody_is_too_alike() -> None:
    # Preset wrenches: no variation, or that of a step here and there.
    crew = np.repeat(np.arange(3), 20)
    variance = np.random.default_rng(6).choice([0.0, 0.0003], 60, p=[0.3, 0.7])
    floor, site = np.full(60, 0.0002), np.zeros(60, dtype=np.int64)
    chance, _ = too_alike(variance, np.full(60, 9), floor, site, crew)
    assert chance.min() > 0.01


def test_without_peers_nothing_is_said() -> None:
    one = np.zeros(15, dtype=np.int64)
    chance, _ = too_alike(np.zeros(15), np.full(15, 9), np.full(15, 0.1), one, one)
    assert np.isnan(chance).all()
