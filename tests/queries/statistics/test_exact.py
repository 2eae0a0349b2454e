"""Exact limits, mid-p and clean checks, against tables and plain sums."""

import numpy as np
import pytest
from scipy.stats import binom, hypergeom, poisson

from queries.statistics.exact import (
    clean_checks_needed,
    funnel_limits,
    garwood_limits,
    mid_p_share,
    mid_p_strata,
    others_variation,
    upper_limit_of_none,
)


# Garwood 1936, Biometrika 28:437-442, as tabulated in many textbooks (from memory).
def test_garwood_s_table() -> None:
    low, high = garwood_limits(np.array([0, 1, 2, 5, 10, 20]))
    assert low == pytest.approx([0, 0.0253, 0.242, 1.623, 4.795, 12.217], abs=5.1e-4)
    expected = [3.689, 5.572, 7.225, 11.668, 18.39, 30.888]
    assert high == pytest.approx(expected, abs=5.1e-4)


# Hanley and Lippman-Hand 1983, JAMA 249:1743-1745 (from memory), per cent rounded.
@pytest.mark.parametrize(
    ("judged", "per_cent"),
    [(10, 26), (20, 14), (30, 10), (50, 6), (100, 3), (1000, 0.3)],
)
def test_rule_of_three(judged: int, per_cent: float) -> None:
    assert 100 * upper_limit_of_none(judged) == pytest.approx(per_cent, abs=0.51)


# 0 of 30 is compatible with up to 9.5 % (exact, 95 % one-sided; the list of traps).
def test_none_of_thirty_is_not_perfect() -> None:
    assert upper_limit_of_none(30) == pytest.approx(0.095, abs=5e-4)
    assert upper_limit_of_none(0) == 1.0


# The success-run table found in most quality texts (from memory).
@pytest.mark.parametrize(
    ("confidence", "rate", "needed"),
    [
        *((0.90, 0.1, 22), (0.90, 0.05, 45), (0.90, 0.01, 230)),
        *((0.95, 0.1, 29), (0.95, 0.05, 59), (0.95, 0.01, 299)),
        *((0.99, 0.1, 44), (0.99, 0.05, 90), (0.99, 0.01, 459)),
    ],
)
def test_success_run_table(confidence: float, rate: float, needed: int) -> None:
    assert clean_checks_needed(0, 0, rate, confidence) == needed
    assert clean_checks_needed(0, needed - 3, rate, confidence) == 3
    assert clean_checks_needed(0, needed, rate, confidence) == 0


@pytest.mark.parametrize(("found", "judged"), [(1, 20), (3, 40), (0, 18), (2, 200)])
def test_clean_checks_by_trying_each(found: int, judged: int) -> None:
    tried = next(m for m in range(500) if binom.cdf(found, judged + m, 0.05) <= 0.05)
    assert clean_checks_needed(found, judged, 0.05) == tried


def test_forty_one_more_clean_checks() -> None:
    assert clean_checks_needed(0, 18, 0.05) == 41  # 59 in all


def plain_mid_p(x: int, tables: list[tuple[int, int, int]]) -> float:
    """Every way to place the nonconforming ones, cell by cell, in plain loops."""
    ways = {0: 1.0}
    for taken, found, total in tables:
        law = hypergeom(total, found, taken)
        new: dict[int, float] = {}
        for before, chance in ways.items():
            for here in range(min(taken, found) + 1):
                new[before + here] = new.get(before + here, 0) + chance * law.pmf(here)
        ways = new
    more = sum(chance for count, chance in ways.items() if count > x) + ways[x] / 2
    return float(min(2 * min(more, 1 - more), 1.0))


@pytest.mark.parametrize(
    ("x", "tables"),
    [
        (4, [(10, 4, 50)]),
        (5, [(20, 6, 50), (3, 2, 9), (7, 9, 12)]),
        (9, [(20, 6, 50), (3, 2, 9), (7, 9, 12)]),
        (0, [(5, 3, 40)]),
    ],
)
def test_mid_p_in_strata(x: int, tables: list[tuple[int, int, int]]) -> None:
    taken, found, total = np.array(tables).T
    assert mid_p_strata(x, taken, found, total) == pytest.approx(plain_mid_p(x, tables))


@pytest.mark.parametrize("x", [0, 1, 4, 9, 12])
def test_mid_p_of_whole_counts_is_the_binomial_s(x: int) -> None:
    law = binom(12, 0.3)
    upper = law.sf(x) + law.pmf(x) / 2
    found = mid_p_share(np.array([x * 1.0]), np.array([12.0]), np.array([0.3]))
    assert found[0] == pytest.approx(min(2 * min(upper, 1 - upper), 1))


def test_mid_p_of_nothing_is_one() -> None:
    zero = np.zeros(1)
    assert mid_p_share(zero, zero, zero)[0] == 1.0


# How often chance alone is beyond the limits, by scipy's Poisson distribution: never
# more often than is said, and not far less.
@pytest.mark.parametrize("confidence", [0.95, 0.998])
@pytest.mark.parametrize("expected", [5.0, 20.0, 400.0])
def test_funnel_limits_leave_out_what_they_say(
    expected: float, confidence: float
) -> None:
    low, high = funnel_limits(np.array([expected]), 1.0, confidence)
    beyond = poisson.cdf(np.ceil(low * expected) - 1, expected)
    beyond += poisson.sf(np.floor(high * expected), expected)
    assert (1 - confidence) / 4 < beyond[0] <= 1 - confidence


# Two to eight groups that all do alike, each beside the mean of the others: so many
# of 4,000 stores have their first group beyond its limits of 95 % (promised 5).
@pytest.mark.parametrize("groups", [2, 3, 8])
def test_a_funnel_of_few_groups_knows_that_the_others_vary(groups: int) -> None:
    rng = np.random.default_rng(groups)
    stores, beyond, too_narrow = 4000, 0, 0
    for found in rng.poisson(40, (stores, groups)):
        expected = np.array([(found.sum() - found[0]) / (groups - 1)])
        wider = others_variation(expected, float(found.sum()))
        for limits, counter in (
            (funnel_limits(expected, wider, 0.95), 0),
            (funnel_limits(expected, 1.0, 0.95), 1),
        ):
            is_beyond = not limits[0][0] <= found[0] / expected[0] <= limits[1][0]
            beyond += is_beyond * (counter == 0)
            too_narrow += is_beyond * (counter == 1)
    margin = 4 * np.sqrt(0.05 * 0.95 / stores)
    assert beyond / stores <= 0.05 + margin
    assert beyond / stores >= 0.025
    if groups < 8:
        assert too_narrow / stores > 0.08


def test_a_funnel_is_wider_where_days_are_bad() -> None:
    # Twice the variation is half the count: the limits of 20 stand at 40.
    at_20 = funnel_limits(np.array([20.0]), 1.0, 0.95)
    assert funnel_limits(np.array([40.0]), 2.0, 0.95) == at_20
