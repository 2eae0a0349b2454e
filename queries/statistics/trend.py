"""One check over time: which chart fits, its limits, and what stands out.

The chart is chosen by the baseline periods alone: a g chart where they expect fewer
than one nonconforming anchor a period, Laney's p′ where the days within their periods
vary more than binomial, else Shewhart's p chart.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics import control_chart, ewma, rare_events, run_rules
from queries.statistics.chart_rules import (
    Rule,
    alarm_factor,
    rare_rules,
    shewhart_rules,
)
from queries.statistics.dispersion import day_dispersion
from queries.statistics.exact import mid_p_strata

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

BASELINE_PERIODS = 12
# Below this a p chart's limits mean little: see rare_events.
RARE_EXPECTED = 1.0
FEW_EVENTS = 10
DAYS_DIFFER_AT = 0.05


@dataclass(frozen=True)
class Periods:
    """Counts of consecutive periods, idle ones with zeros."""

    labels: Sequence[str]
    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class Days:
    """Counts of days in order; `period` is the index of the period a day lies in."""

    period: Counts
    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class Baseline:
    """The periods that limits come from; `chosen` says who chose them."""

    first: str
    last: str
    periods: int
    judged: int
    nonconforming: int
    chosen: str


@dataclass(frozen=True)
class Point:
    """One period; rate and limits are fractions, None where there is none."""

    period: str
    judged: int
    nonconforming: int
    rate: float | None
    lower: float | None
    upper: float | None
    signals: tuple[str, ...]


@dataclass(frozen=True)
class Trend:
    """The answer; `centre` is None where the baseline judged nothing.

    `sigma_z` is 1 unless the p′ chart is used. `run_length`: periods until a false
    alarm of all rules together, also for how roughly the baseline knows the rate (but
    on a g chart).
    """

    centre: float | None
    baseline: Baseline | None
    method: str
    sigma_z: float
    rules: tuple[Rule, ...]
    run_length: float | None
    points: tuple[Point, ...]
    notes: tuple[str, ...]


def trend(periods: Periods, days: Days, chosen: Counts | None, words: str) -> Trend:
    """Return the trend of consecutive periods.

    `chosen`: indices of the baseline periods, None for the default: the first 12 in
    which anything was judged. `words` says who chose.
    """
    active = np.flatnonzero(periods.judged > 0)
    indices = active[:BASELINE_PERIODS] if chosen is None else chosen
    indices = indices[periods.judged[indices] > 0]
    if not len(indices):
        return _without_limits(periods, None, None, "no chart: nothing judged", ())
    baseline = _baseline(periods, indices, words)
    centre = baseline.nonconforming / baseline.judged
    notes = _baseline_notes(baseline)
    if centre in (0.0, 1.0):
        return _without_limits(
            periods,
            centre,
            baseline,
            f"no chart: {'no' if centre == 0 else 'every'} anchor of the baseline is "
            "nonconforming, so that no limits can be drawn",
            notes,
        )
    if baseline.nonconforming / baseline.periods < RARE_EXPECTED:
        return _rare(periods, days, centre, baseline, notes)
    return _shewhart(periods, days, indices, centre, baseline, notes)


def _baseline(periods: Periods, indices: Counts, words: str) -> Baseline:
    return Baseline(
        first=periods.labels[int(indices[0])],
        last=periods.labels[int(indices[-1])],
        periods=len(indices),
        judged=int(periods.judged[indices].sum()),
        nonconforming=int(periods.nonconforming[indices].sum()),
        chosen=words,
    )


def _baseline_notes(baseline: Baseline) -> tuple[str, ...]:
    notes = []
    if baseline.periods < BASELINE_PERIODS:
        notes.append(
            f"the baseline has {baseline.periods} periods; with fewer than "
            f"{BASELINE_PERIODS} its limits are provisional"
        )
    if baseline.nonconforming < FEW_EVENTS:
        notes.append(
            f"the centre rests on {baseline.nonconforming} nonconforming anchors; "
            "limits from so few are themselves uncertain"
        )
    return tuple(notes)


def _rates(periods: Periods) -> Floats:
    return np.asarray(
        periods.nonconforming / np.where(periods.judged > 0, periods.judged, np.nan)
    )


def _without_limits(
    periods: Periods,
    centre: float | None,
    baseline: Baseline | None,
    method: str,
    notes: tuple[str, ...],
) -> Trend:
    nothing = np.full(len(periods.judged), np.nan)
    signals: list[list[str]] = [[] for _ in periods.labels]
    points = _points(periods, nothing, nothing, signals)
    return Trend(centre, baseline, method, 1.0, (), None, points, notes)


def _shewhart(
    periods: Periods,
    days: Days,
    indices: Counts,
    centre: float,
    baseline: Baseline,
    notes: tuple[str, ...],
) -> Trend:
    judged, found = periods.judged, periods.nonconforming
    within = np.isin(days.period, indices)
    spread = day_dispersion(
        days.nonconforming[within], days.judged[within], days.period[within]
    )
    laney = control_chart.laney_sigma_z(found[indices], judged[indices], centre)
    is_laney = spread.p_value <= DAYS_DIFFER_AT and not np.isnan(laney)
    sigma_z = max(laney, 1.0) if is_laney else 1.0
    lower, upper = control_chart.p_limits(judged, centre, sigma_z)
    rate = _rates(periods)
    z = control_chart.z_scores(found, judged, centre) / sigma_z
    drift = ewma.ewma(z, 0.0)
    half = ewma.ewma_half_width()
    signals = _merge(
        run_rules.beyond_limits(rate, lower, upper),
        run_rules.one_side(rate, centre),
        [
            None if np.isnan(here) or abs(a) <= half else _side(a, "drift")
            for a, here in zip(drift, z, strict=True)
        ],
    )
    typical = 0 if is_laney else int(np.median(judged[indices]))
    rules = shewhart_rules(typical, centre)
    return Trend(
        centre=centre,
        baseline=baseline,
        method=_method(is_laney, sigma_z, spread.ratio, spread.days),
        sigma_z=sigma_z,
        rules=rules,
        run_length=_together(rules) / alarm_factor(baseline.periods),
        points=_points(periods, lower, upper, signals),
        notes=notes + _rebase_note(rate, centre, periods, baseline),
    )


def _side(value: float, name: str) -> str:
    return f"{name}_above" if value > 0 else f"{name}_below"


def _together(rules: Sequence[Rule], gaps_a_period: float = 0.0) -> float:
    """Return the periods until a false alarm of any rule: one over the rates' sum.

    Rules that alarm together make it longer, so it is the least to expect.
    """
    each = {"periods": 1.0, "gaps": gaps_a_period}
    return 1 / sum(each[rule.unit] / rule.run_length for rule in rules)


def _method(is_laney: bool, sigma_z: float, ratio: float, days: int) -> str:
    if not is_laney:
        return "p chart: 3-sigma limits for each period's own judged (ISO 7870-2)" + (
            f"; days within the baseline periods vary {ratio:.2f} times as much as "
            f"binomial ({days} days), which chance explains"
            if days
            else "; too few days to see whether they vary more than binomial"
        )
    return (
        "Laney p′ chart: days within the baseline periods vary "
        f"{ratio:.2f} times as much as binomial ({days} days), so limits are those of "
        f"the p chart times sigma_z = {sigma_z:.2f} (mean moving range of the "
        "baseline's z-scores / 1.128, never less than 1)"
    )


def _rebase_note(
    rate: Floats, centre: float, periods: Periods, baseline: Baseline
) -> tuple[str, ...]:
    """Propose a new baseline where the newest periods lie on one side; never set it."""
    runs = [run for run in run_rules.run_lengths(rate, centre) if run]
    active = [label for label, r in zip(periods.labels, rate, strict=True) if r == r]
    if not runs or abs(runs[-1]) < run_rules.RUN_LENGTH:
        return ()
    first = active[-abs(runs[-1])]
    if first <= baseline.last:
        return ()
    side = "above" if runs[-1] > 0 else "below"
    hides = (
        "; it would also take that worsening for normal, and hide it"
        if runs[-1] > 0
        else ""
    )
    note = (
        f"the newest {abs(runs[-1])} periods all lie {side} the centre: if the cause "
        f"is known and lasts, a new baseline from {first} on would fit{hides}; the "
        "baseline stays until someone sets another (firmset baseline set)"
    )
    return (note,)


def worsening_p(before: Baseline, after: Baseline) -> float | None:
    """Return how easily chance makes a baseline as much worse than another.

    The two-sided exact mid-p of Fisher's test on both baselines' judged and
    nonconforming; None where the rate of `after` is not the higher one. Days count as
    alike: it warns rather too often than too seldom.
    """
    if not before.judged or not after.judged:
        return None
    if after.nonconforming * before.judged <= before.nonconforming * after.judged:
        return None
    return mid_p_strata(
        after.nonconforming,
        np.array([after.judged]),
        np.array([after.nonconforming + before.nonconforming]),
        np.array([after.judged + before.judged]),
    )


def _rare(
    periods: Periods,
    days: Days,
    centre: float,
    baseline: Baseline,
    notes: tuple[str, ...],
) -> Trend:
    upper = rare_events.exact_upper(periods.judged, centre)
    lower = np.where(np.isnan(upper), np.nan, 0.0)
    limits = rare_events.gap_limits((1 - centre) / centre)
    gaps = rare_events.event_gaps(days.nonconforming, days.judged)
    signals = _merge(run_rules.beyond_limits(_rates(periods), lower, upper))
    named = rare_events.gap_signals(gaps, limits)
    for day, signal in zip(gaps.day, named, strict=True):
        here = signals[int(days.period[day])]
        if signal and signal not in here:
            here.append(signal)
    rules = rare_rules(periods.judged[periods.judged > 0], upper, centre, limits)
    return Trend(
        centre=centre,
        baseline=baseline,
        method=(
            "g chart: the baseline has fewer than 1 nonconforming a period, so "
            "conforming anchors between two nonconforming ones are watched "
            f"({limits.centre:.1f} expected, limit {limits.upper_exact}); the order "
            "inside a day is unknown, and a gap signals only if it would in any order; "
            "each period's upper limit is the exact binomial one"
        ),
        sigma_z=1.0,
        rules=rules,
        run_length=_together(rules, baseline.nonconforming / baseline.periods),
        points=_points(periods, lower, upper, signals),
        notes=notes,
    )


def _merge(*rules: Sequence[str | None]) -> list[list[str]]:
    return [[name for name in names if name] for names in zip(*rules, strict=True)]


def _points(
    periods: Periods, lower: Floats, upper: Floats, signals: Sequence[Sequence[str]]
) -> tuple[Point, ...]:
    def known(value: float) -> float | None:
        return None if np.isnan(value) else float(value)

    return tuple(
        Point(label, int(n), int(x), known(r), known(low), known(high), tuple(names))
        for label, n, x, r, low, high, names in zip(
            periods.labels,
            periods.judged,
            periods.nonconforming,
            _rates(periods),
            lower,
            upper,
            signals,
            strict=True,
        )
    )
