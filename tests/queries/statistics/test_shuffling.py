"""Labels dealt out again: the flags keep their promise, naive ones do not."""

import numpy as np
import pytest
from scipy.stats import norm

from queries.statistics import flagging
from queries.statistics.clustering import correlations
from queries.statistics.dispersion import DaySums, sum_days
from queries.statistics.exact import mid_p_share
from queries.statistics.flagging import FLAGGED_AT, GroupDays, weigh
from queries.statistics.shuffling import (
    CELLS_A_DAY,
    NEAR,
    _deck,
    flags_of_sums,
    shuffle_labels,
)
from tests.queries.statistics.test_comparison import world


def test_bad_days_break_the_naive_promise_only() -> None:
    _, days = world(np.random.default_rng(3), [0.05] * 20, correlation=0.15)
    found = shuffle_labels(days, 20, shuffles=150)
    # Half of 5 % is for the worse side; margin of 4 standard errors.
    assert found.any_share < 0.025 + 4 * np.sqrt(0.025 / 150)
    assert found.any_naive > 0.1
    assert found.flags >= found.any_share


def test_differences_between_groups_are_dealt_away() -> None:
    # One crew is far worse on every day. Compared, it is flagged; shuffled, its days
    # are some of everybody's: bad days that the rule allows for.
    _, days = world(np.random.default_rng(4), [0.4] + [0.05] * 9)
    found = shuffle_labels(days, 10, shuffles=100)
    assert found.any_share < 0.025 + 4 * np.sqrt(0.025 / 100)


def test_the_same_seed_gives_the_same_answer() -> None:
    _, days = world(np.random.default_rng(5), [0.1] * 4, correlation=0.2)
    assert shuffle_labels(days, 4, 20, seed=7) == shuffle_labels(days, 4, 20, seed=7)


# A plain loop: with one nonconforming day the flags can be counted by hand. Three
# groups of one day of 100 each, one of these days with 20 nonconforming: without a
# second day nothing is known of bad days, and the group that gets it is flagged always.
def test_one_bad_day_is_somebody_s_every_time() -> None:
    one = np.array([0, 1, 2])
    days = GroupDays(one, np.full(3, 100), np.array([20, 1, 1]))
    found = shuffle_labels(days, 3, shuffles=10)
    assert (found.any_share, found.flags) == pytest.approx((1.0, 1.0))


# Many shuffles are weighed at once from sums; one by one the rule itself says the same.
@pytest.mark.parametrize("correlation", [0.0, 0.15])
def test_sums_flag_what_the_rule_flags(
    monkeypatch: pytest.MonkeyPatch, correlation: float
) -> None:
    monkeypatch.setattr(flagging, "EXACT_UP_TO", 0)
    rng = np.random.default_rng(6)
    flags = []
    for _ in range(20):
        rates = rng.choice([0.03, 0.12, 0.3], 12)
        cells, days = world(rng, list(rates), correlation=correlation)
        sums = sum_days(days.nonconforming, days.judged, days.group)
        stacked = type(sums)(*(value[None, :] for value in vars(sums).values()))
        [found] = flags_of_sums(stacked, correlations(stacked))
        assert found == weigh(cells, days).flagged.sum()
        flags.append(int(found))
    assert len(set(flags)) > 2


# Counts need not be whole: a bad day's anchors count for less. The largest of all
# distances within NEAR, of few and many, rare and frequent events; 2 (1 - Phi(1.5)) is
# 0.134 where the binomial is a normal one.
def test_a_count_near_its_mean_is_never_flagged() -> None:
    rng = np.random.default_rng(8)
    m, share = 10 ** rng.uniform(-2, 5, 200_000), 10 ** rng.uniform(-6, 0, 200_000)
    share = np.where(rng.random(200_000) < 0.5, share, 1 - share)
    away = NEAR * np.sqrt(m * share * (1 - share)) * rng.choice([-1, 1], 200_000)
    p_value = mid_p_share(np.clip(m * share + away, 0, m), m, share)
    assert p_value.min() > 0.1 > FLAGGED_AT
    usual = (m * share > 1000) & (m * (1 - share) > 1000)
    assert p_value[usual] == pytest.approx(2 * norm.sf(NEAR), abs=0.01)


@pytest.mark.parametrize("largest", [3, 400])
def test_dealt_days_are_summed_by_group(largest: int) -> None:
    # Few kinds of days are counted by cell, many are summed one by one.
    rng = np.random.default_rng(largest)
    judged = rng.integers(1, largest + 1, 300)
    found = rng.binomial(judged, 0.3)
    group = np.sort(rng.integers(0, 6, 300))
    deck = _deck(GroupDays(group, judged, found), 6)
    kinds = deck.terms.shape[1]
    assert (kinds * 6 > CELLS_A_DAY * 300) == (largest == 400)
    order = rng.permutation(300)
    sums = DaySums(*deck.sums(deck.kind[order]))
    for one in range(6):
        n, x = judged[order][group == one], found[order][group == one]
        assert sums.days[one] == len(n)
        assert (sums.n[one], sums.x[one]) == (n.sum(), x.sum())
        assert (sums.n_x[one], sums.x_x[one]) == (n @ x, x @ x)
        assert sums.n_n[one] == n @ n
        assert sums.one_by_n[one] == pytest.approx((1 / n).sum())
        assert sums.x_x_by_n[one] == pytest.approx((x**2 / n).sum())
