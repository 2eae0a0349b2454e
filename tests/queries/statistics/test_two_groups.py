"""One p-value a batch, and the probability that it is not like its peers."""

import numpy as np
import pytest
from scipy import optimize

from queries.statistics.peer_counts import against_peers
from queries.statistics.two_groups import harmonic_mean_p, two_groups


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


CREWS, DAYS, A_DAY = 30, 60, 20


def _probabilities(seed: int, edited: float) -> tuple[np.ndarray, np.ndarray]:
    """Return each batch's probability, and whether it was planted.

    30 crews whose share at the band's edges is 2 % on average, with habits (beta, 100
    pseudo-rows). Crew 0 moves this share of its anchors there.
    """
    rng = np.random.default_rng(seed)
    crew = np.repeat(np.arange(CREWS), DAYS)
    habit = rng.beta(2, 98, CREWS)[crew]
    planted = crew == 0
    share = np.where(planted, habit + edited, habit)
    of = rng.integers(8, 2 * A_DAY - 8, CREWS * DAYS)
    edge = rng.binomial(of, share)
    other = rng.binomial(of, rng.beta(10, 90, CREWS)[crew])
    nothing = np.zeros(len(of))
    chances = [
        against_peers(edge, of, nothing + 0.02, nothing, crew, CREWS),
        against_peers(other, of, nothing + 0.1, nothing, crew, CREWS),
        rng.uniform(size=len(of)),
    ]
    p = harmonic_mean_p(np.stack(chances, axis=1))
    return two_groups(p, crew, CREWS).probability, planted


def test_honest_crews_with_habits_are_hardly_ever_listed() -> None:
    # Promised: of 1800 honest batches a day at most 1 in 200 is listed.
    shares = [(_probabilities(seed, 0.0)[0] >= 0.9).mean() for seed in range(10)]
    assert np.mean(shares) <= 0.005


def test_of_what_is_listed_nine_of_ten_are_planted() -> None:
    listed = wrong = found = 0
    for seed in range(10):
        probability, planted = _probabilities(seed, 0.18)
        shown = probability >= 0.9
        listed += int(shown.sum())
        wrong += int((shown & ~planted).sum())
        found += int((shown & planted).sum())
    assert wrong <= 0.1 * listed
    # Power where 18 % of 8 to 31 anchors a day are moved to the edges: six of ten days.
    assert found >= 0.6 * 10 * DAYS
