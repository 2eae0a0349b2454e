"""One check over time: which chart fits, its limits, and what stands out.

The chart is chosen by the baseline periods alone: exact limits where they have no
nonconforming anchor or nothing else, a g chart where they expect fewer than one a
period, Laney's p′ where the days within their periods vary more than binomial, else
Shewhart's p chart.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from queries.statistics import control_chart, ewma, rare_events, run_rules, spotless
from queries.statistics.chart_rules import (
    Rule,
    alarm_factor,
    rare_rules,
    shewhart_rules,
    spotless_rules,
)
from queries.statistics.charted import Baseline, Days, Periods, Point, Trend
from queries.statistics.dispersion import day_dispersion
from queries.statistics.rebase import rebase_note, uneven_note

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

BASELINE_PERIODS = 12
# Below this a p chart's limits mean little: see rare_events.
RARE_EXPECTED = 1.0
FEW_EVENTS = 10
DAYS_DIFFER_AT = 0.05


def trend(periods: Periods, days: Days, chosen: Counts | None, words: str) -> Trend:
    """Return the trend of consecutive periods.

    `chosen`: indices of the baseline periods, None for the default: the first 12 in
    which anything was judged. `words` says who chose.
    """
    active = np.flatnonzero(periods.judged > 0)
    indices = active[:BASELINE_PERIODS] if chosen is None else chosen
    indices = indices[periods.judged[indices] > 0]
    if not len(indices):
        return _without_limits(periods)
    baseline = _baseline(periods, indices, words)
    centre = baseline.nonconforming / baseline.judged
    notes = _baseline_notes(baseline)
    if centre in (0.0, 1.0):
        return _spotless(periods, indices, centre, baseline, notes)
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


def _some(number: int, one: str) -> str:
    return f"{number} {one}{'' if number == 1 else 's'}"


def _baseline_notes(baseline: Baseline) -> tuple[str, ...]:
    notes = []
    if baseline.periods < BASELINE_PERIODS:
        notes.append(
            f"the baseline has {_some(baseline.periods, 'period')}; with fewer than "
            f"{BASELINE_PERIODS} its limits are provisional"
        )
    if baseline.nonconforming < FEW_EVENTS:
        notes.append(
            "the centre rests on "
            f"{_some(baseline.nonconforming, 'nonconforming anchor')}; "
            "limits from so few are themselves uncertain"
        )
    return tuple(notes)


def _rates(periods: Periods) -> Floats:
    return _shares(periods.nonconforming, periods.judged)


def _shares(counts: Counts, judged: Counts) -> Floats:
    return np.asarray(counts / np.where(judged > 0, judged, np.nan))


def _without_limits(periods: Periods) -> Trend:
    nothing = np.full(len(periods.judged), np.nan)
    signals: list[list[str]] = [[] for _ in periods.labels]
    points = _points(periods, nothing, nothing, signals)
    return Trend(None, None, "no chart: nothing judged", 1.0, (), None, points, ())


def _spotless(
    periods: Periods,
    indices: Counts,
    centre: float,
    baseline: Baseline,
    notes: tuple[str, ...],
) -> Trend:
    """Chart against a baseline of one kind; of the other kind too many signal."""
    is_clean = centre == 0
    judged = periods.judged
    other = periods.nonconforming if is_clean else judged - periods.nonconforming
    most = spotless.spotless_most(judged, baseline.judged)
    counts = (0 * most, most) if is_clean else (judged - most, judged)
    lower, upper = (_shares(each, judged) for each in counts)
    after = np.arange(int(indices[-1]) + 1, len(judged))
    drift = spotless.spotless_drift(other, judged, after, baseline.judged)
    side = "above" if is_clean else "below"
    signals = _merge(
        run_rules.beyond_limits(_rates(periods), lower, upper),
        [f"drift_{side}" if here else None for here in drift],
    )
    rules = spotless_rules("upper" if is_clean else "lower", side)
    return Trend(
        centre=centre,
        baseline=baseline,
        method=(
            f"exact limits beside a baseline of which {'no' if is_clean else 'every'} "
            f"anchor is nonconforming: {baseline.judged} anchors give no rate to put "
            "sigmas about, so later periods are compared with them directly (Fisher's "
            "exact test, one-sided); anchors are taken as independent, and one bad day "
            "can be enough"
        ),
        sigma_z=1.0,
        rules=rules,
        run_length=_together(rules),
        points=_points(periods, lower, upper, signals),
        notes=notes + rebase_note(_rates(periods), centre, periods, baseline),
    )


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
    beyond = run_rules.beyond_limits(rate, lower, upper)
    signals = _merge(
        beyond,
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
        notes=(
            *notes,
            *uneven_note([periods.labels[at] for at in indices if beyond[at]]),
            *rebase_note(rate, centre, periods, baseline),
        ),
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
    rules = rare_rules(periods.judged[periods.judged > 0], centre, limits)
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
