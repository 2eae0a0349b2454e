"""The retraining list's arithmetic, and what choosing by it gains."""

import numpy as np
import pytest
from scipy.stats import beta, false_discovery_control, hypergeom, norm

from queries.statistics.comparison import Probable, probable_rates
from queries.statistics.flagging import Cells
from queries.statistics.mix import comparable_work
from queries.statistics.outliers import fit_many_and_few
from queries.statistics.retraining import (
    at_own_mix,
    avoidable,
    chance_alarms,
    keep_own_rates,
    reachable_rate,
)
from queries.statistics.shrinkage import BetaBinomial, better_quarter
from queries.statistics.spread_posterior import spread_posterior


def test_avoidable_is_rate_above_the_reachable_times_plan() -> None:
    rate = np.array([0.10, 0.02, np.nan])
    one = np.ones(3)
    known = Probable(None, rate, rate / 2, rate * 2, one, one, one)
    spared = avoidable(known, np.array([200.0, 500.0, 9.0]), one * 0.03)
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
            "list": np.maximum(eb - reachable, 0) * planned,
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
        np.ones(len(x) + 1),
    )


def clear_of_chance(x: np.ndarray, n: np.ndarray) -> np.ndarray:
    """Return which crews' counts differ from the others', by scipy at 5 %.

    The last crew, with nothing judged, does not.
    """
    whole_x, whole_n = np.round(x).astype(int), np.round(n).astype(int)
    drawn = hypergeom(whole_n.sum(), whole_x.sum(), whole_n)
    sides = np.minimum(drawn.sf(whole_x - 1), drawn.cdf(whole_x))
    p_values = np.minimum(2 * sides, 1.0)
    return np.append(false_discovery_control(p_values) <= 0.05, False)


# Twenty crews at 2 % in two cells, and one that alone does a third, 30 % of it badly:
# of the average mix that says nothing, and of it in that third nobody knows more.
def test_a_crew_alone_in_its_work_has_no_rate_at_the_average_mix() -> None:
    rng = np.random.default_rng(64)
    judged = np.zeros((21, 3), dtype=np.int64)
    judged[:20, :2] = 200
    judged[20, 2] = 400
    found = rng.binomial(judged, [0.02, 0.02, 0.30])
    probable = probable_rates(comparable_work(judged, found), np.ones(21))
    assert np.isnan([probable.rate[20], probable.low[20], probable.high[20]]).all()


# Some of 122 beside sixty crews at 2 %, counts divided by 6 for bad days: surely one of
# the few, and perhaps. Recomputed from the beta distributions by another way: of the
# mixture's distribution function.
@pytest.mark.parametrize(("bad", "surely"), [(97.0, True), (25.0, False)])
def test_a_crew_unlike_the_others_keeps_its_own_rate(bad: float, surely: bool) -> None:
    n = np.append(np.full(60, 150.0), 122.0) / 6
    x = np.append(np.tile([2.0, 3.0, 4.0], 20), bad) / 6
    shrunk = probable(x, n)
    found = keep_own_rates(shrunk, clear_of_chance(x, n))
    unlike = fit_many_and_few(x, n).unlike[-1]
    assert unlike > 0.99 if surely else 0.1 < unlike < 0.9
    assert shrunk.rate[60] < 0.5
    mean = (1 - unlike) * shrunk.rate[60] + unlike * (x[60] + 1) / (n[60] + 2)
    assert found.rate[60] == pytest.approx(mean, rel=1e-6)
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


# One nonconforming of one is what a few of sixty crews at 5 % have by luck alone.
def test_one_of_one_is_not_unlike_the_others() -> None:
    n = np.append(np.full(60, 200.0), 1.0)
    x = np.append(np.tile([8.0, 10.0, 12.0], 20), 1.0)
    shrunk = probable(x, n)
    is_clear = clear_of_chance(x, n)
    assert not is_clear[60]
    assert keep_own_rates(shrunk, is_clear).rate[60] == shrunk.rate[60]
    assert shrunk.rate[60] < 0.1


# Crews that all work alike: what a crew of an easy, a middling and a hard mix would
# have at its own mix is what its cells' rates, invented here, make of it.
def test_rates_at_the_own_mix_are_those_of_the_own_work() -> None:
    rng = np.random.default_rng(63)
    cell_rates = np.array([0.01, 0.05, 0.20])
    shares = np.array([[0.9, 0.1, 0.0], [0.1, 0.8, 0.1], [0.0, 0.1, 0.9]] * 8)
    runs = []
    for _ in range(40):
        judged = rng.multinomial(400, shares)
        cells = Cells(judged, rng.binomial(judged, cell_rates))
        runs.append(
            at_own_mix(
                probable_rates(
                    comparable_work(cells.judged, cells.nonconforming), np.ones(24)
                )
            ).rate
        )
    true = shares @ cell_rates
    margin = 3 * np.std(runs, axis=0) / np.sqrt(40)
    assert np.mean(runs, axis=0) == pytest.approx(true, rel=0.05, abs=margin.max())
    sure = Probable(None, *np.full((5, 1), 0.6), np.array([2.0]))
    assert at_own_mix(sure).rate[0] == 1


# Sixty crews around 2 % and one anywhere from 40 to 90 %, clear of chance: its interval
# holds the truth as promised, where the shrunk one does not.
def test_own_rates_hold_the_truth() -> None:
    rng = np.random.default_rng(62)
    held = dict.fromkeys(("shrunk", "own", "many"), 0.0)
    runs = 200
    for _ in range(runs):
        true = np.append(rng.beta(4, 196, 60), rng.uniform(0.4, 0.9))
        n = np.full(61, 20.0)
        x = rng.binomial(20, true).astype(float)
        shrunk = probable(x, n)
        own = keep_own_rates(shrunk, clear_of_chance(x, n))
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
    plain = Probable(None, n / n, n / n, n / n, n, n, n / n)
    assert keep_own_rates(plain, np.ones(3, dtype=bool)) is plain
