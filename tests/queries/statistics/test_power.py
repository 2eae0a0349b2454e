"""From which rate on a flag may be expected: few anchors promise little."""

from math import comb

import numpy as np
import pytest

from queries.statistics.comparison import Cells, GroupDays, compare
from queries.statistics.period_change import period_change
from queries.statistics.power import rate_seen


def seen(judged: float, others: float, others_rate: float, looks: int) -> float:
    [rate] = rate_seen(
        np.array([judged]), np.array([others]), np.array([others_rate]), looks
    )
    return float(rate)


def test_many_by_simulation_of_the_two_sided_z_test() -> None:
    """Pooled z test at 5 % / 4 looks; four standard errors wide."""
    rng = np.random.default_rng(5)
    n_0, n_1, p_0, runs = 2800, 2500, 0.05, 4000
    x_0 = rng.binomial(n_0, p_0, runs)
    x_1 = rng.binomial(n_1, seen(n_1, n_0, p_0, looks=4), runs)
    pooled = (x_0 + x_1) / (n_0 + n_1)
    z = (x_1 / n_1 - x_0 / n_0) / np.sqrt(pooled * (1 - pooled) * (1 / n_0 + 1 / n_1))
    # Normal quantile of 1 - 0.05 / 4 / 2 (tables: 2.498).
    share = np.mean(np.abs(z) > 2.498)
    assert abs(share - 0.80) <= 4 * np.sqrt(0.8 * 0.2 / runs) + 0.01


def test_two_anchors_must_both_be_nonconforming() -> None:
    """Worked out by hand: the chance of both is r^2, and 0.8 at r = 0.894.

    One of two is not enough: with 12 of 600 elsewhere its chance is about 2 x 0.022.
    """
    assert seen(2, 600, 0.02, looks=3) == pytest.approx(0.8**0.5, abs=1e-6)


def test_nowhere_in_one_anchor_or_where_the_others_all_fail() -> None:
    """One of one beside 12 of 600 comes by chance 13 times of 601: no flag at 1.7 %."""
    assert np.isnan(seen(1, 600, 0.02, looks=3))
    assert np.isnan(seen(500, 500, 1.0, looks=1))
    assert np.isnan(seen(0, 500, 0.1, looks=1))
    assert np.isnan(seen(500, 0, 0.1, looks=1))


def chance_of_flag(
    n: int, m: int, rate: float, others_rate: float, looks: int
) -> float:
    """Every outcome by its chance, Fisher's test with mid-p from binomial coefficients.

    By its definition (Lancaster 1961, J. Am. Stat. Assoc. 56:223-234).
    """

    def binomial(x: int, size: int, share: float) -> float:
        return comb(size, x) * share**x * (1 - share) ** (size - x)

    total = 0.0
    for x in range(n + 1):
        for y in range(m + 1):
            weights = [
                comb(n, k) * comb(m, x + y - k) for k in range(x, n + 1) if x + y >= k
            ]
            tail = (sum(weights) - weights[0] / 2) / comb(n + m, x + y)
            if x / n > y / m and tail <= 0.025 / looks:
                total += binomial(x, n, rate) * binomial(y, m, others_rate)
    return total


@pytest.mark.parametrize(
    ("n", "m", "others_rate", "looks"),
    [(3, 60, 0.1, 4), (8, 90, 0.05, 10), (20, 60, 0.3, 4), (30, 5, 0.1, 1)],
)
def test_few_against_every_outcome(
    n: int, m: int, others_rate: float, looks: int
) -> None:
    """The others' counts are taken at nine places of their spread: 4 points allowed."""
    rate = seen(n, m, others_rate, looks)
    chance = chance_of_flag(n, m, rate, others_rate, looks)
    assert chance == pytest.approx(0.8, abs=0.04)


@pytest.mark.parametrize(("own", "others", "of_others"), [(3, 300, 6), (30, 200, 4)])
def test_a_small_group_is_flagged_as_often_as_said(
    own: int, others: int, of_others: int
) -> None:
    """By the comparison itself, 5 others, each group's anchors of one day."""
    rng, runs = np.random.default_rng(3), 400
    n = np.array([[own]] + [[others]] * 5)
    p_0 = of_others / others
    rate = seen(own, 5 * others, p_0, looks=6)
    flags = []
    for _ in range(runs):
        x = rng.binomial(n, np.array([[rate]] + [[p_0]] * 5))
        days = GroupDays(np.arange(6), n[:, 0], x[:, 0])
        flags.append(compare(Cells(n, x), days).flagged[0])
    assert np.mean(flags) == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / runs) + 0.02)


def test_a_month_of_two_anchors_lets_little_be_seen() -> None:
    """Simulated: two conform in the month before, then 200 at the rate said."""
    rng, runs, one = np.random.default_rng(4), 400, np.ones(1)
    before = Cells(np.array([[2]]), np.array([[0]]))
    rise = seen(200, 2, 0.0, looks=1)
    changed = [
        period_change(
            before, Cells(np.array([[200]]), rng.binomial(200, [[rise]])), one, one
        ).is_changed[0]
        for _ in range(runs)
    ]
    assert np.mean(changed) == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / runs))
