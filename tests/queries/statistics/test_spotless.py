"""Limits beside a spotless baseline: Fisher's tea, scipy, what chance alone does."""

import numpy as np
import pytest
from scipy.stats import betabinom, fisher_exact

from queries.statistics.rare_events import TAIL
from queries.statistics.spotless import spotless_drift, spotless_most, spotless_tail


def tail(found: int, judged: int, baseline: int) -> float:
    [chance] = spotless_tail(np.array([found]), np.array([judged]), baseline)
    return float(chance)


def test_fishers_tea() -> None:
    """All four cups right: 1 in 70 (Fisher 1935, The Design of Experiments, ch. 2)."""
    assert tail(4, 4, 4) == pytest.approx(1 / 70)
    assert tail(0, 4, 4) == pytest.approx(1)


@pytest.mark.parametrize(
    ("found", "judged", "baseline"),
    [(1, 10, 120), (3, 25, 230), (25, 25, 230), (2, 5000, 7), (40, 300, 5000)],
)
def test_beside_scipy(found: int, judged: int, baseline: int) -> None:
    table = [[found, judged - found], [0, baseline]]
    exact = fisher_exact(table, alternative="greater").pvalue
    assert tail(found, judged, baseline) == pytest.approx(exact, rel=1e-9)
    # The other reading: what a rate at Beta(1, N) gives.
    foretold = betabinom.sf(found - 1, judged, 1, baseline)
    assert tail(found, judged, baseline) == pytest.approx(foretold, rel=1e-9)


@pytest.mark.parametrize("baseline", [1, 12, 230, 5000])
def test_the_limit_is_the_last_count_within(baseline: int) -> None:
    judged = np.array([0, 1, 2, 7, 30, 400])
    for n, most in zip(judged, spotless_most(judged, baseline), strict=True):
        assert tail(int(most), int(n), baseline) > TAIL
        assert most == n or tail(int(most) + 1, int(n), baseline) <= TAIL


def test_seven_weeks_before_count_and_no_more() -> None:
    judged = np.full(30, 10)
    found = np.zeros(30, dtype=np.int64)
    found[[20, 27]] = 2
    after = np.arange(12, 30)
    # Week 27 with the seven before it has four of 80; week 28 has none itself.
    # 80 * 79 * 78 * 77 / (480 * 479 * 478 * 477) is 0.07 %; two of 80 have 2.7 %.
    assert np.flatnonzero(spotless_drift(found, judged, after, 400)).tolist() == [27]
    found[20], found[19] = 0, 2
    assert not spotless_drift(found, judged, after, 400).any()


def test_a_week_without_any_is_none_to_ask_about() -> None:
    judged = np.full(30, 10)
    found = np.zeros(30, dtype=np.int64)
    found[[20, 21]] = 3
    # Three of 80 have 0.45 %; six, of which week 22 has none, far under 0.135 %.
    drift = spotless_drift(found, judged, np.arange(12, 30), 400)
    assert np.flatnonzero(drift).tolist() == [21]


# A rate that such a baseline leaves likely, Beta(1, N): each rule alarms in at most
# 0.135 % of periods. 40,000 streams of 20 weeks; the margin is four standard errors of
# the streams' alarm shares.
@pytest.mark.parametrize(("baseline", "judged"), [(60, 5), (230, 20), (1000, 80)])
def test_false_alarms_keep_the_promise(baseline: int, judged: int) -> None:
    rng = np.random.default_rng(baseline)
    streams, weeks = 40_000, 20
    rate = rng.beta(1, baseline, streams)
    found = rng.binomial(judged, rate[:, None], (streams, weeks))
    [most] = spotless_most(np.array([judged]), baseline)
    alarms = (found > most).mean(axis=1)
    margin = 4 * alarms.std() / np.sqrt(streams)
    assert 0 < alarms.mean() <= TAIL + margin
    n = np.full(weeks, judged)
    drift = np.array(
        [spotless_drift(x, n, np.arange(weeks), baseline).mean() for x in found[:4000]]
    )
    assert drift.mean() <= TAIL + 4 * drift.std() / np.sqrt(4000)


# From none of 230 to one in ten of 20 a week: nearly always seen within eight weeks.
def test_power_beside_a_clean_baseline() -> None:
    rng = np.random.default_rng(7)
    streams = 2_000
    found = rng.binomial(20, 0.1, (streams, 8))
    n = np.full(8, 20)
    [most] = spotless_most(np.array([20]), 230)
    seen = [
        (x > most).any() or spotless_drift(x, n, np.arange(8), 230).any() for x in found
    ]
    # Eight of all 160 suffice (0.07 %); fewer have 0.75 % by the binomial.
    assert np.mean(seen) >= 0.99
