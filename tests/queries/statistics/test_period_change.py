"""One period beside the one before: limits, like work, looks and what could be seen."""

from itertools import product
from math import comb

import numpy as np
import pytest
from statsmodels.stats.proportion import confint_proportions_2indep

from queries.statistics.flagging import Cells
from queries.statistics.period_change import (
    Change,
    newcombe_limits,
    period_change,
)


def cells(judged: list[list[int]], nonconforming: list[list[int]]) -> Cells:
    return Cells(np.array(judged), np.array(nonconforming))


def plain(earlier: Cells, later: Cells) -> Change:
    ones = np.ones(len(earlier.judged))
    return period_change(earlier, later, ones, ones)


# Newcombe 1998 (Stat. Med. 17:873), table II, method 10: cases a, b and d (printed
# values from memory; statsmodels below agrees).
@pytest.mark.parametrize(
    ("x_1", "n_1", "x_0", "n_0", "low", "high"),
    [
        (56, 70, 48, 80, 0.0524, 0.3339),
        (9, 10, 3, 10, 0.1705, 0.8090),
        (5, 56, 0, 29, -0.0381, 0.1926),
    ],
)
def test_newcombe_published(
    x_1: int, n_1: int, x_0: int, n_0: int, low: float, high: float
) -> None:
    ours = newcombe_limits(*(np.array([float(v)]) for v in (x_0, n_0, x_1, n_1)))
    assert [one[0] for one in ours] == pytest.approx([low, high], abs=5e-5)


def test_newcombe_is_statsmodels() -> None:
    rng = np.random.default_rng(3)
    n_0, n_1 = rng.integers(1, 300, (2, 60))
    x_0, x_1 = rng.binomial(n_0, 0.1), rng.binomial(n_1, 0.2)
    low, high = newcombe_limits(*(v.astype(float) for v in (x_0, n_0, x_1, n_1)))
    for at in range(60):
        expected = confint_proportions_2indep(
            x_1[at], n_1[at], x_0[at], n_0[at], method="newcomb", compare="diff"
        )
        assert (low[at], high[at]) == pytest.approx(expected, abs=1e-9)


def test_bad_days_count_for_less() -> None:
    """With each anchor worth half, the limits are those of half the counts."""
    earlier, later = cells([[200]], [[20]]), cells([[100]], [[20]])
    found = period_change(earlier, later, np.array([2.0]), np.array([2.0]))
    expected = confint_proportions_2indep(10, 50, 10, 100, method="newcomb")
    assert (found.low[0], found.high[0]) == pytest.approx(expected, abs=1e-9)
    assert found.p_value[0] > plain(earlier, later).p_value[0]


def enumerated_mid_p(
    earlier: list[tuple[int, int]], later: list[tuple[int, int]]
) -> float:
    """Enumerate every table with the same margins; a pair is (judged, nonconforming).

    The two-sided mid-p is twice the smaller tail, half of the observed chance in each.
    """
    chances: dict[int, float] = {}
    cell_counts = []
    for (n_0, x_0), (n_1, x_1) in zip(earlier, later, strict=True):
        found, total = x_0 + x_1, n_0 + n_1
        cell_counts.append(
            [
                (k, comb(found, k) * comb(total - found, n_1 - k) / comb(total, n_1))
                for k in range(max(0, n_1 - total + found), min(n_1, found) + 1)
            ]
        )
    for combination in product(*cell_counts):
        count = sum(k for k, _ in combination)
        chance = np.prod([p for _, p in combination])
        chances[count] = chances.get(count, 0.0) + float(chance)
    seen = sum(x for _, x in later)
    half = chances[seen] / 2
    above = sum(p for k, p in chances.items() if k > seen) + half
    below = sum(p for k, p in chances.items() if k < seen) + half
    return min(2 * min(above, below), 1.0)


@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ([(10, 1)], [(10, 6)]),
        ([(12, 0)], [(9, 2)]),
        ([(8, 1), (6, 2)], [(5, 3), (10, 6)]),
        ([(8, 0), (6, 2), (3, 3)], [(5, 0), (10, 1), (4, 3)]),
    ],
)
def test_p_value_enumerated(
    earlier: list[tuple[int, int]], later: list[tuple[int, int]]
) -> None:
    def one(pairs: list[tuple[int, int]]) -> Cells:
        return cells([[n for n, _ in pairs]], [[x for _, x in pairs]])

    found = plain(one(earlier), one(later))
    assert found.p_value[0] == pytest.approx(enumerated_mid_p(earlier, later))


def test_harder_work_is_no_change() -> None:
    """1 % of the easy size, 20 % of the hard one in both months; more of the hard."""
    found = plain(cells([[900, 100]], [[9, 20]]), cells([[100, 900]], [[1, 180]]))
    # 181/1000 - 29/1000 by hand.
    assert found.difference[0] == pytest.approx(0.152)
    assert found.mix_part[0] == pytest.approx(0.152)
    assert found.performance_part[0] == pytest.approx(0.0)
    assert found.low[0] > 0
    assert not found.is_changed[0]


def test_work_begun_this_month_is_neither_mix_nor_doing() -> None:
    """2 % of 200 easy ones, then 14 % of 100 and 40 % of 100 hard ones never done."""
    found = plain(cells([[200, 0]], [[4, 0]]), cells([[100, 100]], [[14, 40]]))
    assert found.difference[0] == pytest.approx(0.25)
    assert (found.alone_judged[0], found.alone_nonconforming[0]) == (100, 40)
    assert np.isnan(found.mix_part[0]) and np.isnan(found.performance_part[0])


def test_nothing_shared_is_no_look() -> None:
    """A month of one size beside a month of another; an empty month; a plain change."""
    found = plain(
        cells([[50, 0], [0, 0], [400, 0]], [[1, 0], [0, 0], [4, 0]]),
        cells([[0, 50], [50, 0], [400, 0]], [[0, 9], [3, 0], [60, 0]]),
    )
    assert np.isnan(found.p_value[:2]).all()
    assert np.isnan(found.detectable_rise[:2]).all()
    assert found.is_changed.tolist() == [False, False, True]
    # The one look that can be asked is the only one allowed for.
    assert found.q_value[2] == pytest.approx(found.p_value[2])


def test_looks_without_change_seldom_stand_out() -> None:
    """Twenty looks, nothing changed: in at most 5 % of 150 drawings does any stand out.

    Margin of four standard errors of that share.
    """
    rng = np.random.default_rng(11)
    runs, looks = 150, 20
    n = np.full((looks, 1), 150)
    rate = np.linspace(0.02, 0.2, looks)[:, None]
    any_out = sum(
        plain(
            Cells(n, rng.binomial(n, rate)), Cells(n, rng.binomial(n, rate))
        ).is_changed.any()
        for _ in range(runs)
    )
    assert any_out / runs <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / runs)


def test_like_work_that_got_better_is_not_worse_for_the_plain_rate() -> None:
    """Simpson's reversal: 50 % to 30 % and 3 % to 1 %, yet 7.7 % to 27.1 % in all."""
    earlier = cells([[100, 900]], [[50, 27]])
    later = cells([[900, 100]], [[270, 1]])
    found = plain(earlier, later)
    assert found.difference[0] == pytest.approx(271 / 1000 - 77 / 1000)
    assert found.is_changed[0] and not found.is_worse[0]
    turned = plain(later, earlier)
    assert turned.difference[0] < 0
    assert turned.is_changed[0] and turned.is_worse[0]
