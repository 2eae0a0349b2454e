"""The retraining list's arithmetic, and what choosing by it gains."""

import numpy as np
import pytest
from scipy.stats import beta, norm

from queries.statistics.comparison import Probable
from queries.statistics.outliers import fit_many_and_few
from queries.statistics.retraining import (
    avoidable,
    chance_alarms,
    keep_own_rates,
    reachable_rate,
)
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


def probable(x: np.ndarray, n: np.ndarray) -> Probable:
    """Return the shrunk rates of crews; one with nothing judged comes last."""
    posterior = spread_posterior(x, n)
    none = [np.nan]
    low, high = posterior.rate_intervals(x, n)
    return Probable(
        posterior,
        np.append(posterior.rates(x, n), none),
        np.append(low, none),
        np.append(high, none),
        np.append(x, 0.0),
        np.append(n, 0.0),
    )


# 97 of 122 beside sixty crews at 2 %, counts divided by 6 for bad days. Recomputed from
# the beta distributions by another way: of the mixture's distribution function.
def test_a_crew_unlike_the_others_keeps_its_own_rate() -> None:
    n = np.append(np.full(60, 150.0), 122.0) / 6
    x = np.append(np.tile([2.0, 3.0, 4.0], 20), 97.0) / 6
    shrunk = probable(x, n)
    found = keep_own_rates(shrunk)
    unlike = fit_many_and_few(x, n).unlike[-1]
    assert unlike > 0.99
    assert shrunk.rate[60] < 0.5
    assert found.rate[60] == pytest.approx(97 / 122, abs=0.04)
    own = beta(x[60] + 1, n[60] - x[60] + 1)
    assert shrunk.posterior is not None
    a = shrunk.posterior.mean * shrunk.posterior.strength + x[60]
    b = (1 - shrunk.posterior.mean) * shrunk.posterior.strength + n[60] - x[60]

    def below(rate: float) -> float:
        alike = float(shrunk.posterior.weight @ beta.cdf(rate, a, b))  # type: ignore[union-attr]
        return (1 - unlike) * alike + unlike * float(own.cdf(rate))

    assert below(found.low[60]) == pytest.approx(0.025, abs=0.001)
    assert below(found.high[60]) == pytest.approx(0.975, abs=0.001)
    # The many are as they were, and of a crew without checks nothing is known.
    assert np.array_equal(found.rate[:60], shrunk.rate[:60])
    assert np.isnan(found.rate[61])


# Sixty crews around 2 % and one anywhere from 20 to 90 %: its interval holds the truth
# as promised, where the shrunk one does not.
def test_own_rates_hold_the_truth() -> None:
    rng = np.random.default_rng(62)
    held = dict.fromkeys(("shrunk", "own", "many"), 0.0)
    runs = 200
    for _ in range(runs):
        true = np.append(rng.beta(4, 196, 60), rng.uniform(0.2, 0.9))
        n = np.full(61, 20.0)
        x = rng.binomial(20, true).astype(float)
        shrunk = probable(x, n)
        own = keep_own_rates(shrunk)
        for name, found in (("shrunk", shrunk), ("own", own)):
            held[name] += found.low[60] <= true[60] <= found.high[60]
        inside = (own.low[:60] <= true[:60]) & (true[:60] <= own.high[:60])
        held["many"] += inside.mean()
    margin = 3 * np.sqrt(0.05 * 0.95 / runs)
    assert held["own"] / runs > 0.95 - margin
    assert held["shrunk"] / runs < 0.95 - margin
    assert held["many"] / runs > 0.95 - margin


def test_all_or_nothing_nonconforming_says_nothing_of_the_spread() -> None:
    n = np.full(3, 9.0)
    plain = Probable(None, n / n, n / n, n / n, n, n)
    assert keep_own_rates(plain) is plain
