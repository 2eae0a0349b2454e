"""The rules of a chart, each with how long it stays silent by chance alone."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.control_chart import SIGMAS, p_limits
from queries.statistics.ewma import WEIGHT, WIDTH, ewma_run_length
from queries.statistics.rare_events import (
    CLOSE_EVENTS,
    TAIL,
    GapLimits,
    exact_upper,
)
from queries.statistics.run_rules import RUN_LENGTH, in_control_run_length
from queries.statistics.spotless import TOGETHER

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Rule:
    """A rule; `run_length` is the mean number of `unit` until a false alarm."""

    signals: str
    words: str
    run_length: float
    unit: str = "periods"


@cache
def shewhart_rules(judged: int, centre: float) -> tuple[Rule, ...]:
    """Return the run rules (together) and the drift rule of a p or p′ chart.

    `judged`: a typical period's; the run lengths are then exact for its binomial
    counts, which at small rates are far from the normal ones. 0 takes normal points,
    as for a p′ chart.
    """
    beyond, above, below = _chances(judged, centre) if judged else _normal_chances()
    return (
        Rule(
            "beyond_upper, beyond_lower, run_above, run_below",
            f"a period beyond its limits, or {RUN_LENGTH} in a row on one side of the "
            "centre",
            in_control_run_length(beyond, above, below),
        ),
        Rule(
            "drift_above, drift_below",
            f"slow drift: moving average (EWMA, weight {WEIGHT}) of the standardised "
            f"rates beyond {WIDTH} of its sigmas",
            ewma_run_length(_BinomialPeriod(judged, centre))
            if judged
            else _normal_drift(),
        ),
    )


@cache
def alarm_factor(periods: int) -> float:
    """Return how many times as often false alarms come as with the rate known exactly.

    Of the two rules together, on average over what a baseline of so many periods may be
    off by: normal, a standard deviation of 1 / sqrt(periods) sigmas of one period
    (what is estimated has a price: Quesenberry 1993, J. Qual. Technol. 25:237-247).
    Gauss and Hermite's five points.
    """
    points, weights = np.polynomial.hermite_e.hermegauss(5)
    often = [_alarms(float(point) / np.sqrt(periods)) for point in points]
    return float(np.dot(weights, often) / weights.sum() / _alarms(0.0))


@cache
def _alarms(shift: float) -> float:
    """Return false alarms a period where normal points lie off the centre by so much.

    Coarse slices do: a factor is asked for.
    """
    drift = ewma_run_length(lambda z: np.asarray(special.ndtr(z - shift)), slices=61)
    return 1 / in_control_run_length(*_normal_chances(shift)) + 1 / drift


def _normal_chances(shift: float = 0.0) -> tuple[float, float, float]:
    low, high = special.ndtr(-SIGMAS - shift), special.ndtr(shift - SIGMAS)
    above = special.ndtr(shift) - high
    return float(low + high), float(above), float(1 - low - high - above)


@cache
def _normal_drift() -> float:
    return ewma_run_length(special.ndtr)


def _chances(judged: int, centre: float) -> tuple[float, float, float]:
    """Return the chances of a binomial period: beyond, above inside, below inside."""
    counts = np.arange(judged + 1)
    below_or_at = np.asarray(special.bdtr(counts, judged, centre))
    chance = np.diff(below_or_at, prepend=0.0)
    rate = counts / judged
    (lower,), (upper,) = p_limits(np.array([judged]), centre)
    inside = (rate >= lower) & (rate <= upper)
    return (
        float(chance[~inside].sum()),
        float(chance[inside & (rate > centre)].sum()),
        float(chance[inside & (rate < centre)].sum()),
    )


def spotless_rules(limit: str, side: str) -> tuple[Rule, ...]:
    """Return the rules beside a baseline of one kind: both keep to one tail.

    Each is at most 0.135 % over the rates that such a baseline leaves likely, so the
    run lengths are the least to expect. `limit` is "upper" or "lower", `side` "above"
    or "below".
    """
    least = 1 / TAIL
    return (
        Rule(
            f"beyond_{limit}",
            f"a period whose count chance reaches in at most {100 * TAIL:.3f} %, had "
            "nothing changed since the baseline",
            least,
        ),
        Rule(
            f"drift_{side}",
            f"a period and up to {TOGETHER - 1} with work before it, together, in the "
            "same way",
            least,
        ),
    )


class _BinomialPeriod:
    """Distribution of the standardised rate of a binomial period."""

    def __init__(self, judged: int, centre: float) -> None:
        self.judged, self.centre = judged, centre

    def __call__(self, z: Floats) -> Floats:
        n, p = self.judged, self.centre
        counts = np.floor(n * p + z * np.sqrt(n * p * (1 - p)) + 1e-9)
        inside = np.asarray(special.bdtr(np.clip(counts, 0, n), n, p))
        return np.where(counts < 0, 0.0, inside)


def rare_rules(judged: Counts, centre: float, limits: GapLimits) -> tuple[Rule, ...]:
    """Return the rules where nonconforming anchors are rare.

    A period's exact limit is at most 0.135 %, so its false alarms are no more often
    than one in 741 periods; the run length given is that of the chart's own periods.
    Where none of them is long enough to reach its limit there is no such rule.
    """
    n = np.asarray(judged, dtype=np.float64)
    count = np.round(exact_upper(judged, centre) * n) + 1
    tail = np.where(
        count <= n,
        special.betainc(count, np.maximum(n - count + 1, 1e-12), centre),
        0.0,
    )
    mean_tail = float(np.mean(tail))
    rate = 1 / (1 + limits.centre)
    long_chance = (1 - rate) ** limits.upper_exact
    rules = [
        Rule(
            "gap_long",
            f"{limits.upper_exact} or more conforming between two nonconforming",
            1 / long_chance,
            "gaps",
        ),
    ]
    if mean_tail:
        says = f"a period whose count chance reaches in at most {100 * TAIL:.3f} %"
        rules.insert(0, Rule("beyond_upper", says, 1 / mean_tail))
    if limits.close_sum is not None:
        chance = float(special.nbdtr(limits.close_sum, CLOSE_EVENTS, rate))
        rules.append(
            Rule(
                "gaps_short",
                f"{CLOSE_EVENTS} gaps in a row that add up to no more than "
                f"{limits.close_sum} conforming",
                1 / chance,
                "gaps",
            )
        )
    return tuple(rules)
