"""Beta-binomial tails and the likeness of a batch's rows."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from queries.statistics.peer_counts import against_peers, others_likeness, upper_tail


def one_site(crews: int) -> NDArray[np.int64]:
    """Return the site of each crew: one for all."""
    return np.zeros(crews, np.int64)


@pytest.mark.parametrize("likeness", [0.001, 0.05, 0.4])
def test_tail_is_scipys_beta_binomial(likeness: float) -> None:
    n = np.array([1, 7, 7, 40, 40, 300], dtype=np.int64)
    k = np.array([1, 0, 3, 12, 40, 90], dtype=np.int64)
    p = np.array([0.3, 0.3, 0.02, 0.1, 0.5, 0.2])
    strength = 1 / likeness - 1
    expected = stats.betabinom.sf(k - 1, n, p * strength, (1 - p) * strength)
    found = upper_tail(k, n, p, np.full(6, likeness))
    assert found == pytest.approx(expected, rel=1e-8)


def test_tail_without_likeness_is_binomial() -> None:
    # Scipy's binomial, an independent sum: 3 or more of 10 at 0.1 is 0.0702.
    found = upper_tail(np.array([3]), np.array([10]), np.array([0.1]), np.zeros(1))
    assert found == pytest.approx([stats.binom.sf(2, 10, 0.1)], rel=1e-5)
    assert found == pytest.approx([0.0702], abs=5e-5)


def test_likeness_is_that_of_the_simulation() -> None:
    # 400 crews with habits from a beta distribution whose correlation is 0.05.
    rng = np.random.default_rng(7)
    habit = np.repeat(rng.beta(0.5 * 19, 0.5 * 19, 400), 20)
    of = rng.integers(5, 40, 8000)
    found = rng.binomial(of, habit)
    crew = np.repeat(np.arange(400), 20)
    likeness = others_likeness(found, of, np.full(8000, 0.5), crew, one_site(400))
    # The spread of 400 habits: chi-square, so a relative error of sqrt(2 / 399).
    assert np.median(likeness) == pytest.approx(0.05, rel=4 * np.sqrt(2 / 399))


def test_one_crew_that_invents_does_not_make_inventing_usual() -> None:
    rng = np.random.default_rng(8)
    of = np.full(400, 20, dtype=np.int64)
    crew = np.repeat(np.arange(10), 40)
    found = rng.binomial(of, 0.1)
    found[crew == 0] = 20
    # Of the crews of other sites, that it is no peer of, the inventing one is left out.
    site = np.array([1, *[0] * 9])
    likeness = others_likeness(found, of, np.full(400, 0.1), crew, site)
    assert likeness[1:].max() < 0.02


@pytest.mark.parametrize("crews", [3, 4, 6])
def test_a_crew_that_invents_does_not_hide_behind_those_held_against_it(
    crews: int,
) -> None:
    # Each is held against the others, as it is at a site: all but the inventing one
    # are far from what it makes them expect. Rows that were drawn alike all the same.
    rng = np.random.default_rng(8)
    of = np.full(40 * crews, 20, dtype=np.int64)
    crew = np.repeat(np.arange(crews), 40)
    found = rng.binomial(of, 0.1)
    found[crew == 0] = 20
    own = np.bincount(crew, found)
    share = ((own.sum() - own) / (800 * (crews - 1)))[crew]
    likeness = others_likeness(found, of, share, crew, one_site(crews))
    assert likeness[0] < 0.02
    chance = against_peers(found, of, share, np.zeros(len(of)), crew, one_site(crews))
    assert chance[crew == 0].max() < 1e-6


def test_one_other_crew_of_a_site_tells_nothing_of_habits() -> None:
    # Its share was learned from the crew that is asked about.
    found, of = np.array([2, 3, 5, 4]), np.full(4, 10)
    likeness = others_likeness(
        found,
        of,
        np.array([0.45, 0.45, 0.25, 0.25]),
        np.array([0, 0, 1, 1]),
        one_site(2),
    )
    assert np.isnan(likeness).all()


def test_the_moments_are_those_of_each_batch() -> None:
    # Recomputed batch by batch, with shares that the two others meet on average.
    found, of = np.array([2, 0, 5, 4, 1, 3]), np.array([10, 8, 12, 9, 7, 11])
    share, crew = np.array([0.2, 0.2, 0.3, 0.3, 0.4, 0.4]), np.array([0, 0, 1, 1, 2, 2])
    met = (5 + 4 + 1 + 3) / (0.3 * 21 + 0.4 * 18)
    above = room = 0.0
    for k, n, p in zip(found[2:], of[2:], share[2:] * met, strict=True):
        above += (k - n * p) ** 2 - n * p * (1 - p)
        room += n * (n - 1) * p * (1 - p)
    likeness = others_likeness(found, of, share, crew, one_site(3))
    assert likeness[0] == pytest.approx(max(3 * above / room, 0))


def test_one_crew_alone_has_no_peers() -> None:
    one = np.array([5], dtype=np.int64)
    chance = against_peers(
        one, one, np.array([0.1]), np.zeros(1), np.array([0]), one_site(1)
    )
    assert np.isnan(chance).all()


def test_few_peers_widen_what_is_usual() -> None:
    # Jeffreys' predictive: k of n given 1 of 20 peers is beta-binomial (1.5, 19.5).
    found = upper_tail(
        np.array([3]), np.array([10]), np.array([1.5 / 21]), np.array([1 / 22])
    )
    assert found == pytest.approx([stats.betabinom.sf(2, 10, 1.5, 19.5)], rel=1e-9)


def test_days_that_differ_are_usual() -> None:
    # Every day has a share of its own (correlation 0.1): at most 1 % at 0.01, where a
    # binomial tail gives several times that.
    rng = np.random.default_rng(9)
    of = np.full(3000, 30, dtype=np.int64)
    found = rng.binomial(of, rng.beta(0.9, 8.1, 3000))
    share, crew = np.full(3000, 0.1), np.repeat(np.arange(30), 100)
    chance = against_peers(found, of, share, np.zeros(3000), crew, one_site(30))
    margin = 4 * np.sqrt(0.01 * 0.99 / 3000)
    assert (chance <= 0.01).mean() <= 0.01 + margin
    assert (upper_tail(found, of, share, np.zeros(3000)) <= 0.01).mean() > 0.05
