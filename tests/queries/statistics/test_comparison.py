"""Who is out of line: operating characteristics of the whole comparison."""

import numpy as np
import pytest
from numpy.typing import NDArray
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import proportion_effectsize

from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.comparison import Comparison, compare, probable_rates
from queries.statistics.exact import mid_p_strata
from queries.statistics.flagging import Cells, GroupDays
from queries.statistics.mix import comparable_work


def world(
    rng: np.random.Generator,
    rates: NDArray[np.float64] | list[float],
    *,
    days: int = 30,
    per_day: float = 6,
    correlation: float = 0.0,
) -> tuple[Cells, GroupDays]:
    """Groups with these true rates whose days are alike to a degree (beta-binomial)."""
    groups = len(rates)
    group = np.repeat(np.arange(groups), days)
    n = rng.poisson(per_day, groups * days)
    p = np.asarray(rates)[group]
    if correlation:
        strength = 1 / correlation - 1
        p = rng.beta(p * strength, (1 - p) * strength)
    x = rng.binomial(n, p)
    group, n, x = group[n > 0], n[n > 0], x[n > 0]
    return (
        Cells(counts(group, n, groups), counts(group, x, groups)),
        GroupDays(group, n, x),
    )


def counts(
    group: NDArray[np.int64], values: NDArray[np.int64], groups: int
) -> NDArray[np.int64]:
    return np.bincount(group, values, groups).astype(np.int64)[:, None]


# The list of traps: 3 to 8 sites, one bad (16 % among 4 %). An overdispersion-adjusted
# z can never flag; compared with the others, within-site days as clusters, the bad
# one is found in 98 to 99.7 % and an identical one flagged in 1.3 to 4.1 %.
@pytest.mark.parametrize("sites", [3, 5, 8])
def test_one_bad_site_among_few(sites: int) -> None:
    rng = np.random.default_rng(sites)
    options = {"days": 40, "per_day": 6.0, "correlation": 0.08}
    found = wrong = false = 0
    runs = 80
    for _ in range(runs):
        answer = compare(*world(rng, [0.16] + [0.04] * (sites - 1), **options))
        found += int(answer.flagged[0])
        wrong += int(answer.flagged[1:].any())
        false += int(compare(*world(rng, [0.04] * sites, **options)).flagged.any())
    assert found / runs > 0.93
    assert wrong / runs < 0.05
    # Half of the two-sided 5 % is for the worse side; margin of 4 standard errors.
    assert false / runs < 0.025 + 4 * np.sqrt(0.025 / runs)


# Faults come in bad days: 30 identical crews. Taken as independent the worst flags are
# many; by day, no more than promised.
def test_bad_days_flag_nobody() -> None:
    rng = np.random.default_rng(30)
    naive = clustered = 0
    runs = 30
    for _ in range(runs):
        cells, days = world(rng, [0.05] * 30, per_day=8, correlation=0.15)
        clustered += int(compare(cells, days).flagged.sum())
        each = GroupDays(
            np.repeat(days.group, days.judged),
            np.ones(days.judged.sum(), dtype=np.int64),
            np.concatenate(
                [
                    np.arange(n) < x
                    for n, x in zip(days.judged, days.nonconforming, strict=True)
                ]
            ).astype(np.int64),
        )
        naive += int(compare(cells, each).flagged.sum())
    assert naive / runs > 0.3
    assert clustered / runs < 0.06 + 4 * np.sqrt(0.06 / runs)


@pytest.mark.parametrize("correlation", [0.0, 0.1])
def test_p_values_are_what_they_say(correlation: float) -> None:
    rng = np.random.default_rng(31)
    p = np.concatenate(
        [
            compare(*world(rng, [0.05] * 6, correlation=correlation)).p_value
            for _ in range(150)
        ]
    )
    for level in (0.05, 0.2):
        # 900 p-values, of which six of a run are not independent.
        margin = 4 * np.sqrt(level * (1 - level) / 900) * 1.3
        assert np.mean(p <= level) == pytest.approx(level, abs=margin)


def test_five_hundred_groups() -> None:
    rng = np.random.default_rng(500)
    rates = np.full(500, 0.04)
    rates[:10] = 0.25
    answer = compare(*world(rng, rates, days=15, correlation=0.05))
    assert answer.flagged[:10].sum() >= 9
    assert answer.flagged[10:].sum() <= 3


def test_without_extra_variation_it_is_fisher_s_mid_p() -> None:
    # Ten a day, and the nonconforming ones dealt out as evenly as can be.
    x = [3, 1, 0]
    group = np.repeat([0, 1, 2], 5)
    n = np.full(15, 10)
    bad = np.zeros(15, dtype=np.int64)
    for site, count in enumerate(x):
        bad[site * 5 : site * 5 + count] = 1
    cells = Cells(np.full((3, 1), 50), np.array(x)[:, None])
    answer = compare(cells, GroupDays(group, n, bad))
    assert (answer.correlation, answer.is_exact) == (0.0, True)
    for site, count in enumerate(x):
        expected = mid_p_strata(count, np.array([50]), np.array([4]), np.array([150]))
        assert answer.p_value[site] == pytest.approx(expected)


def test_correlation_and_its_price() -> None:
    rng = np.random.default_rng(9)
    _, days = world(rng, [0.1] * 20, days=200, correlation=0.12)
    found = day_correlation(days.nonconforming, days.judged, days.group)
    assert found == pytest.approx(0.12, abs=0.03)
    # With four days a group the group's own estimated rate would hide a part of it.
    _, few = world(rng, [0.1] * 400, days=4, correlation=0.12)
    found = day_correlation(few.nonconforming, few.judged, few.group)
    assert found == pytest.approx(0.12, abs=0.025)
    # Two days of 10 and 30: 1 + 0.1 x (1000 / 40 - 1) = 3.4; one anchor a day: 1.
    effects = design_effects(np.array([10, 30, 1, 1]), np.array([0, 0, 1, 1]), 2, 0.1)
    assert effects == pytest.approx([3.4, 1.0])


def test_a_harder_mix_is_not_a_fault() -> None:
    # Simpson's pair of the list of traps, three days each: South is not out of line.
    cells = Cells(np.array([[900, 100], [100, 500]]), np.array([[45, 20], [3, 90]]))
    days = GroupDays(
        np.array([0, 0, 0, 1, 1, 1]),
        np.array([334, 333, 333, 200, 200, 200]),
        np.array([22, 22, 21, 31, 31, 31]),
    )
    answer = compare(cells, days)
    assert not answer.flagged[1]
    assert answer.ratio[1] == pytest.approx(93 / 105)
    # At the average mix its probable rate is below North's, and it never ranks first.
    assert answer.eb_rate[1] <= answer.eb_rate[0]


def two_groups(judged: int, others: int) -> Comparison:
    cells = Cells(np.array([[judged], [others]]), np.array([[5], [others // 20]]))
    n = np.array([judged // 2, judged - judged // 2, others // 2, others // 2])
    x = np.array([3, 2, others // 40, others // 20 - others // 40])
    return compare(cells, GroupDays(np.array([0, 0, 1, 1]), n, x))


# Against another sample-size formula (statsmodels, arcsine scale): the power at the
# detectable rate is about 80 % of a two-sided test at 5 % / 2 groups.
def test_detectable_rate_has_the_power_it_says() -> None:
    answer = two_groups(200, 2000)
    effect = proportion_effectsize(answer.detectable_rate[0], 0.05)
    power = NormalIndPower().power(effect, 200, 0.025, ratio=10)
    assert power == pytest.approx(0.8, abs=0.06)


def test_what_could_have_been_seen_by_simulation() -> None:
    rng = np.random.default_rng(40)
    base = [0.04] * 5
    answer = compare(*world(rng, base))
    rate = float(answer.detectable_rate[0])
    runs = 150
    seen = np.mean(
        [compare(*world(rng, [rate, *base[1:]])).flagged[0] for _ in range(runs)]
    )
    assert seen == pytest.approx(0.8, abs=4 * np.sqrt(0.16 / runs) + 0.05)


def test_nothing_judged_is_no_figure() -> None:
    cells = Cells(np.array([[20], [0], [30]]), np.array([[2], [0], [1]]))
    days = GroupDays(np.array([0, 2]), np.array([20, 30]), np.array([2, 1]))
    answer = compare(cells, days)
    for name in ("p_value", "q_value", "eb_rate", "rank_low", "expected", "ratio"):
        assert np.isnan(getattr(answer, name)[1]), name
    assert not answer.flagged[1]
    assert answer.more_clean_checks[1] == 59
    assert answer.days == 0


def test_all_conforming_is_no_error() -> None:
    cells = Cells(np.array([[18], [60]]), np.array([[0], [0]]))
    days = GroupDays(np.array([0, 1]), np.array([18, 60]), np.array([0, 0]))
    answer = compare(cells, days)
    assert list(answer.p_value) == [1.0, 1.0]
    assert list(answer.more_clean_checks) == [41, 0]
    # 1 - 0.05^(1/n), the rule of three (Hanley and Lippman-Hand 1983) exactly.
    assert answer.clean_up_to == pytest.approx([1 - 0.05 ** (1 / n) for n in (18, 60)])
    assert np.isnan(answer.eb_rate).all()
    assert (answer.rank_low[0], answer.rank_high[0]) == (1, 2)


def test_bad_days_leave_more_open() -> None:
    """The clean group's 8 days of 25 anchors are worth fewer than 200 anchors.

    By how many, the design effect says: 1 + correlation (25 - 1).
    """
    cells = Cells(np.array([[200], [200]]), np.array([[0], [50]]))
    group, n = np.repeat([0, 1], 8), np.full(16, 25)
    days = GroupDays(group, n, np.array([0] * 8 + [25, 25] + [0] * 6))
    answer = compare(cells, days)
    worth = 200 / (1 + answer.correlation * 24)
    assert answer.correlation > 0.5
    assert answer.clean_up_to[0] == pytest.approx(1 - 0.05 ** (1 / worth))
    assert np.isnan(answer.clean_up_to[1])


def test_beside_others_that_all_fail_no_more_could_be_seen() -> None:
    cells = Cells(np.array([[60], [60]]), np.array([[30], [60]]))
    days = GroupDays(np.array([0, 1]), np.array([60, 60]), np.array([30, 60]))
    answer = compare(cells, days)
    assert np.isnan(answer.detectable_rate[0])
    assert 0.5 < answer.detectable_rate[1] < 1


def test_one_group_has_nobody_to_compare_with() -> None:
    cells = Cells(np.array([[18]]), np.array([[3]]))
    answer = compare(cells, GroupDays(np.zeros(1, int), np.array([18]), np.array([3])))
    assert np.isnan(answer.p_value[0])
    assert np.isnan(answer.others_rate[0])
    assert np.isnan(answer.detectable_rate[0])


# The list of traps: 20 identical crews, a strict inspector (writes down 95 % of what is
# nonconforming) for most anchors of half of them and a lax one (50 %) for the rest.
# Compared plainly, the strict one's crews are flagged; within inspectors, nobody.
def test_a_strict_inspector_is_no_bad_crew() -> None:
    rng = np.random.default_rng(95)
    plain = within = strict_share = 0
    runs = 15
    for _ in range(runs):
        judged = np.array([[500, 100]] * 10 + [[100, 500]] * 10)
        found = rng.binomial(judged, [[0.10 * 0.95, 0.10 * 0.50]])
        x, n = found.sum(axis=1), judged.sum(axis=1)
        # Ten days a crew, its nonconforming anchors dealt out evenly.
        group = np.repeat(np.arange(20), 10)
        per_day = np.concatenate(
            [np.bincount(np.arange(k) % 10, minlength=10) for k in x]
        )
        days = GroupDays(group, np.full(200, 60), per_day)
        first = compare(Cells(n[:, None], x[:, None]), days)
        second = compare(Cells(judged, found), days)
        plain += int(first.flagged.sum())
        within += int(second.flagged.sum())
        strict_share += int((np.argsort(-x / n)[:5] < 10).sum())
    assert strict_share / (5 * runs) > 0.85
    assert plain / runs > 1
    assert within / runs < 0.05 + 4 * np.sqrt(0.05 / runs)


# One crew does only hard work, of which each other did five anchors: how hard it is,
# is hardly known, and the interval must say so. Rates 2 and 10 %, crews apart by a
# lognormal of 0.4, all invented; with the variance left out 65 % of the intervals held.
def test_an_interval_at_the_average_mix_knows_how_little_is_known_of_it() -> None:
    rng = np.random.default_rng(3)
    judged = np.array([[0, 200], *([[200, 5]] * 9)])
    share, runs, held = judged.sum(axis=0) / judged.sum(), 300, 0
    for _ in range(runs):
        skill = np.exp(rng.normal(-0.08, 0.4, 10))
        rates = np.minimum(skill[:, None] * [0.02, 0.10], 1.0)
        found = rng.binomial(judged, rates)
        told = probable_rates(comparable_work(judged, found), np.ones(10))
        held += bool(told.low[0] <= rates[0] @ share <= told.high[0])
    # 95 % promised; three standard errors of 300 runs are 3.8 %.
    assert held / runs > 0.912


# By definition: of judged anchors that all fail, or none, each group's rate is that;
# rounding in the mix must not make a spread of it. Mixes by chance, with a fixed seed.
@pytest.mark.parametrize("share", [0, 1])
def test_where_all_or_nothing_fails_no_spread_is_known(share: int) -> None:
    rng = np.random.default_rng(20261130)
    for _ in range(100):
        judged = rng.integers(0, 9, (4, 6))
        judged[:, 0] += 1
        found = probable_rates(
            comparable_work(judged, judged * share), rng.uniform(1, 2, 4)
        )
        assert found.posterior is None
        assert np.isnan([found.rate, found.low, found.high]).all()
