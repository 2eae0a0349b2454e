"""From which rate on a flag may be expected: few anchors promise little."""

from math import comb

import numpy as np
import pytest

from queries.statistics import power
from queries.statistics.comparison import Cells, Comparison, GroupDays, compare
from queries.statistics.period_change import Change, period_change
from queries.statistics.power import like_work, rate_seen


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


def test_like_work_of_one_cell_is_that_cell() -> None:
    """And of two alike in both: 10 + 30 beside 20 + 60, a tenth of 80 nonconforming."""
    n, m = np.array([[10, 30, 5]]), np.array([[20, 60, 0]])
    found = like_work(n, m, np.array([[2, 6, 0]]))
    assert (found.judged[0], found.others[0]) == (40, pytest.approx(80))
    assert found.others_rate[0] == pytest.approx(0.1)
    alone = like_work(np.array([[5, 0]]), np.array([[0, 9]]), np.array([[0, 1]]))
    assert (alone.judged[0], alone.others[0]) == (0, 0)
    assert np.isnan(alone.others_rate[0])


# By the comparison itself. Of the first, 100 set the hard size at which 30 % fail: the
# others' plain rate, 3 %, is no measure of it. Of the second only 10 of 200 compare.
@pytest.mark.parametrize(
    ("judged", "rates"),
    [
        ([[100, 0]] + [[25, 300]] * 4, (0.3, 0.01)),
        ([[10, 190]] + [[200, 0]] * 5, (0.04, 0.04)),
    ],
)
def test_what_compares_is_what_could_be_seen(
    judged: list[list[int]], rates: tuple[float, float]
) -> None:
    rng, runs = np.random.default_rng(8), 300
    n = np.array(judged)
    usual = np.tile(rates, (len(n), 1))

    def drawn(own: float | None) -> Comparison:
        at = usual.copy()
        at[0] = usual[0] if own is None else own
        x = rng.binomial(n, at)
        days = GroupDays(np.arange(len(n)), n.sum(axis=1), x.sum(axis=1))
        return compare(Cells(n, x), days)

    rate = np.median([drawn(None).detectable_rate[0] for _ in range(40)])
    seen = np.mean([drawn(rate).flagged[0] for _ in range(runs)])
    assert seen == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / runs) + 0.03)


def test_a_rise_in_like_work_by_simulation() -> None:
    """200 of one size and 5 of another before, 5 and 200 after: little compares."""
    rng, runs, one = np.random.default_rng(9), 300, np.ones(1)
    n = np.array([[200, 5]]), np.array([[5, 200]])

    def drawn(rise: float) -> Change:
        before, after = (
            Cells(judged, rng.binomial(judged, rate))
            for judged, rate in zip(n, (0.05, 0.05 + rise), strict=True)
        )
        return period_change(before, after, one, one)

    rise = np.nanmedian([drawn(0).detectable_rise[0] for _ in range(60)])
    seen = np.mean([drawn(rise).is_changed[0] for _ in range(runs)])
    assert seen == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / runs) + 0.05)


def test_small_groups_do_not_make_the_others_surer() -> None:
    """One other of 400 in days of 20, and forty of 5: its bad days count by anchors.

    Simulated: a day's anchors fail together (beta-binomial, correlation 0.3).
    """
    rng, runs, shared = np.random.default_rng(10), 120, 1 / 0.3 - 1
    sizes = np.array([300, 400] + [5] * 40)
    group = np.repeat(np.arange(42), [15, 20] + [1] * 40)
    judged = np.array([20] * 35 + [5] * 40)

    def drawn(own: float) -> Comparison:
        rate = np.where(group == 0, own, 0.04)
        by_day = rng.beta(rate * shared, (1 - rate) * shared)
        x = rng.binomial(judged, by_day)
        total = np.bincount(group, x, 42).astype(int)
        cells = Cells(sizes[:, None], total[:, None])
        return compare(cells, GroupDays(group, judged, x))

    rate = np.nanmedian([drawn(0.04).detectable_rate[0] for _ in range(40)])
    seen = np.mean([drawn(rate).flagged[0] for _ in range(runs)])
    assert seen >= 0.8 - 4 * np.sqrt(0.16 / runs)


@pytest.mark.parametrize(
    ("judged", "others", "others_rate"),
    [(30, 2500, 0.02), (30, 2500, 0.3), (2000, 1000, 0.001), (2500, 40, 0.05)],
)
def test_of_many_drawn_as_if_put_back_is_near_enough(
    judged: int, others: int, others_rate: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beside the hypergeometric itself: within three hundredths of the rate seen."""
    quick = seen(judged, others, others_rate, looks=10)
    monkeypatch.setattr(power, "MANY", 10**9)
    exact = seen(judged, others, others_rate, looks=10)
    assert quick == pytest.approx(exact, rel=0.03)
