"""The retraining list's arithmetic, and what choosing by it gains."""

import numpy as np
import pytest
from scipy.stats import beta, norm

from queries.statistics.retraining import avoidable, chance_alarms, reachable_rate
from queries.statistics.shrinkage import BetaBinomial, better_quarter
from queries.statistics.spread_posterior import spread_posterior


def test_avoidable_is_rate_above_the_reachable_times_plan() -> None:
    rate = np.array([0.10, 0.02, np.nan])
    spared = avoidable(rate, rate / 2, rate * 2, np.array([200.0, 500.0, 9.0]), 0.03)
    assert spared.count == pytest.approx([14.0, 0.0, np.nan], nan_ok=True)
    assert spared.low == pytest.approx([4.0, 0.0, np.nan], nan_ok=True)
    assert spared.high == pytest.approx([34.0, 5.0, np.nan], nan_ok=True)


def test_reachable_is_the_better_quarter_of_the_spread() -> None:
    known = BetaBinomial(0.1, 30)
    assert better_quarter(known) == pytest.approx(beta.ppf(0.25, 3, 27))
    # Many crews: the spread they were drawn from; one without checks says nothing.
    rng = np.random.default_rng(3)
    n = np.append(np.full(2000, 300.0), 0.0)
    x = rng.binomial(n.astype(int), rng.beta(3, 27, 2001)).astype(float)
    assert reachable_rate(x, n) == pytest.approx(beta.ppf(0.25, 3, 27), rel=0.05)


def test_reachable_where_crews_do_not_differ() -> None:
    n = np.full(4, 50.0)
    assert reachable_rate(np.full(4, 5.0), n) == pytest.approx(0.1)
    assert reachable_rate(np.zeros(4), n) == 0.0
    assert reachable_rate(n, n) == 1.0


# The list of traps: 60 crews x 8 checks of noise raise 22 two-sigma alarms a month and
# about 1.3 at three sigma.
def test_alarms_of_pure_noise() -> None:
    assert chance_alarms(480, 2) == pytest.approx(22, abs=0.5)
    assert chance_alarms(480, 3) == pytest.approx(1.3, abs=0.05)
    z = np.abs(np.random.default_rng(1).normal(size=(4000, 480)))
    for sigmas in (2, 3):
        seen = (z > sigmas).sum(axis=1).mean()
        assert seen == pytest.approx(480 * 2 * norm.sf(sigmas), rel=0.04)


# The list of traps: five crews to be chosen of many with different plans. By raw rate
# one chases small crews' luck, by raw count large crews' size; EB rate x plan comes
# near to knowing the truth. Crews, rates and plans are invented here.
def test_choosing_five_crews() -> None:
    rng = np.random.default_rng(60)
    gained = dict.fromkeys(("rate", "count", "list", "truth"), 0.0)
    for _ in range(60):
        true = rng.beta(2, 38, 60)
        n = np.round(rng.lognormal(4, 1, 60)) + 5
        planned = np.round(rng.lognormal(5, 1, 60))
        x = rng.binomial(n.astype(int), true).astype(float)
        reachable = reachable_rate(x, n)
        eb = spread_posterior(x, n).rates(x, n)
        gain = np.maximum(true - reachable, 0) * planned
        order = {
            "rate": x / n,
            "count": x,
            "list": avoidable(eb, eb, eb, planned, reachable).count,
            "truth": gain,
        }
        for name, score in order.items():
            gained[name] += gain[np.argsort(-score)[:5]].sum()
    assert gained["list"] > 1.5 * gained["rate"]
    assert gained["list"] > 1.5 * gained["count"]
    assert gained["list"] > 0.8 * gained["truth"]


# The list of traps: the worst of last month improve by themselves. Useless training of
# the five raw worst "helps"; against the EB expectation it does nothing.
def test_useless_training_gains_nothing_against_the_expectation() -> None:
    rng = np.random.default_rng(61)
    raw, expected, after = [], [], []
    for _ in range(120):
        true = rng.beta(4, 76, 40)
        x = rng.binomial(120, true).astype(float)
        n = np.full(40, 120.0)
        worst = np.argsort(-x)[:5]
        raw.append((x / n)[worst].mean())
        expected.append(spread_posterior(x, n).rates(x, n)[worst].mean())
        after.append((rng.binomial(120, true) / n)[worst].mean())
    fall = 1 - np.mean(after) / np.mean(raw)
    assert fall > 0.15
    margin = 4 * np.std(np.array(after) - expected) / np.sqrt(120)
    # Fitting the spread from 40 crews costs a little: 3 % of the rate.
    slack = margin + 0.03 * np.mean(after)
    assert np.mean(after) == pytest.approx(np.mean(expected), abs=slack)
