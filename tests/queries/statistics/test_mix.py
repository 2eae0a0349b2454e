"""Mix and performance: Simpson's pair, sums that must add up, silent cells."""

import numpy as np
import pytest

from queries.statistics.flagging import Cells, strata_moments
from queries.statistics.mix import (
    alone_of,
    comparable_work,
    expected_from_others,
    mix_change,
    split_difference,
    told_apart,
)

# The list of traps: South 15.5 % against North 6.5 %, better in every size; the gap of
# +9.0 is +11.0 mix and -2.0 performance. Rows North, South; columns an easy and a hard
# size: North 5 % of 900 and 20 % of 100, South 3 % of 100 and 18 % of 500.
JUDGED = np.array([[900, 100], [100, 500]])
BAD = np.array([[45, 20], [3, 90]])


def test_simpson_s_pair() -> None:
    north, south = BAD.sum(axis=1) / JUDGED.sum(axis=1)
    assert (north, south) == pytest.approx((0.065, 0.155))
    split = split_difference(JUDGED, BAD)
    assert split.mix[1] == pytest.approx(0.11)
    assert split.performance[1] == pytest.approx(-0.02)
    # Order-free: seen from North all signs turn.
    assert split.mix[0] == pytest.approx(-0.11)
    assert split.performance[0] == pytest.approx(0.02)


def test_expected_takes_the_others_rates_only() -> None:
    expected = expected_from_others(JUDGED, BAD)
    # South: 100 x 5 % + 500 x 20 %; North: 900 x 3 % + 100 x 18 %.
    assert expected.count == pytest.approx([45, 105])
    assert list(expected.observed) == [65, 93]


def test_split_adds_up_whatever_the_cells() -> None:
    rng = np.random.default_rng(4)
    judged = rng.integers(0, 30, (6, 9)) * rng.integers(0, 2, (6, 9))
    bad = rng.binomial(judged, 0.2)
    split = split_difference(judged, bad)
    for group in range(6):
        others_n, others_x = np.delete(judged, group, 0), np.delete(bad, group, 0)
        gap = bad[group].sum() / judged[group].sum() - others_x.sum() / others_n.sum()
        assert split.mix[group] + split.performance[group] == pytest.approx(gap)


def test_a_cell_nobody_else_has_excuses_nobody() -> None:
    judged = np.array([[10, 5], [20, 0]])
    bad = np.array([[1, 5], [2, 0]])
    expected = expected_from_others(judged, bad)
    assert expected.count[0] == pytest.approx(1.0)  # 10 at 2/20
    assert expected.observed[0] == 1
    # The rates of the shared cell agree: the whole gap is the silent cell, as mix.
    split = split_difference(judged, bad)
    assert split.performance[0] == pytest.approx(0)
    assert split.mix[0] == pytest.approx(6 / 15 - 2 / 20)
    alone = alone_of(judged, bad, judged.sum(axis=0) - judged)
    assert [*alone.judged] == [*alone.nonconforming] == [5, 0]
    told = told_apart(split, judged, alone)
    assert np.isnan(told.mix[0]) and np.isnan(told.performance[0])
    assert told.mix[1] == pytest.approx(split.mix[1])


@pytest.mark.parametrize(
    ("alone_judged", "alone_bad", "is_told"),
    [(10, 0, True), (11, 0, False), (5, 2, True), (5, 3, False)],
)
def test_what_is_done_alone_may_be_a_tenth_and_less_than_half_of_it(
    alone_judged: int, alone_bad: int, *, is_told: bool
) -> None:
    """Five of 100 are nonconforming, of the others none: of 5 points half is over 2.

    A tenth of the anchors and half of the difference are this project's choice.
    """
    judged = np.array([[100 - alone_judged, alone_judged], [100, 0]])
    bad = np.array([[5 - alone_bad, alone_bad], [0, 0]])
    others = judged.sum(axis=0) - judged
    alone = alone_of(judged, bad, others)
    told = told_apart(split_difference(judged, bad), judged, alone)
    assert np.isnan(told.mix[0]) != is_told


def test_groups_that_share_no_cell_are_not_split() -> None:
    judged = np.array([[10, 0], [0, 10]])
    split = split_difference(judged, judged // 5)
    assert np.isnan(split.mix).all()
    assert np.isnan(split.performance).all()


def test_one_rate_everywhere_makes_no_mix_harder() -> None:
    # Up to the prior's one anchor of some hundred.
    assert comparable_work(JUDGED * 100, JUDGED * 10).difficulty == pytest.approx(
        [1, 1], rel=1e-3
    )


# By hand from the definition: South's mix at North's steadied rates. North's overall
# rate is 65 / 1000, so that a cell's prior is 1 nonconforming of 1000 / 65 = 15.385.
def test_a_mix_is_as_hard_as_the_others_find_it() -> None:
    easy, hard = 46 / (900 + 1000 / 65), 21 / (100 + 1000 / 65)
    own = (100 * easy + 500 * hard) / 600
    average = (1000 * easy + 600 * hard) / 1600
    assert comparable_work(JUDGED, BAD).difficulty[1] == pytest.approx(own / average)


# What a group does in a cell of its own is no measure of the cell, nor of the group.
def test_a_cell_of_its_own_is_not_compared() -> None:
    judged = np.array([[80, 500], [500, 0], [500, 0]])
    for own in (0, 5, 400):
        bad = np.array([[2, own], [10, 0], [10, 0]])
        found = comparable_work(judged, bad)
        assert (found.judged[0], found.nonconforming[0]) == (80, 2)
        assert found.difficulty[0] == pytest.approx(1)
        assert found.difficulty_variance[0] == pytest.approx(0)


# The delta method against the ratio's own spread, counts of the others being Poisson.
def test_the_variance_of_a_difficulty_is_that_of_its_logarithm() -> None:
    rng = np.random.default_rng(7)
    judged = np.array([[0, 200], [3000, 400]])
    true = np.array([60.0, 40.0])
    runs = [
        comparable_work(judged, np.array([[0, 20], [*rng.poisson(true)]]))
        for _ in range(4000)
    ]
    logs = np.log([one.difficulty[0] for one in runs])
    told = np.mean([one.difficulty_variance[0] for one in runs])
    # The prior's one anchor and 4000 runs (2.2 % of a variance) leave a tenth.
    assert told == pytest.approx(logs.var(), rel=0.1)


# By hand: the other has 46 / (900 + 1000 / 65) in the easy cell and 21 / (100 +
# 1000 / 65) in the hard one, its prior one anchor at its own 65 / 1000.
def test_a_mix_that_changes_is_as_much_harder_as_the_others_find_it() -> None:
    easy, hard = 46 / (900 + 1000 / 65), 21 / (100 + 1000 / 65)
    before, after = np.array([[450, 50], [90, 10]]), np.array([[450, 50], [10, 90]])
    found = mix_change(before, after, np.array([[45, 20], [3, 9]]))
    assert found.times[1] == pytest.approx(
        (0.1 * easy + 0.9 * hard) / (0.9 * easy + 0.1 * hard)
    )
    assert found.times[0] == pytest.approx(1)
    assert found.variance[0] == pytest.approx(0)
    assert found.variance[1] > 0
    # Nothing of it before: nothing to hold to another mix.
    none = mix_change(np.zeros_like(before), after, np.array([[45, 20], [3, 9]]))
    assert (list(none.times), list(none.variance)) == ([1, 1], [0, 0])


def test_nothing_to_compare_makes_no_mix_harder() -> None:
    none = np.zeros_like(JUDGED)
    assert list(comparable_work(JUDGED, none).difficulty) == [1, 1]
    assert list(comparable_work(none, none).difficulty) == [1, 1]
    # The second group alone is nonconforming: nothing says how hard its cells are.
    assert comparable_work(JUDGED, np.array([[0, 0], [3, 9]])).difficulty[1] == 1
    one_silent = np.array([[0, 0], [100, 500], [200, 100]])
    assert comparable_work(one_silent, one_silent // 10).difficulty[0] == 1


# Bickel et al. 1975, six departments; R's mantelhaen.test (run): chi-square with
# continuity correction 1.4269462.
def test_mantel_haenszel_of_the_admissions() -> None:
    men = (
        np.array([512, 353, 120, 138, 53, 22]),
        np.array([313, 207, 205, 279, 138, 351]),
    )
    women = np.array([89, 17, 202, 131, 94, 24]), np.array([19, 8, 391, 244, 299, 317])
    admitted = np.array([men[0], women[0]])
    cells = Cells(admitted + np.array([men[1], women[1]]), admitted)
    given = strata_moments(cells)
    gap = abs(given.observed[0] - given.mean[0]) - 0.5
    assert gap**2 / given.variance[0] == pytest.approx(1.4269462, abs=5.1e-7)
