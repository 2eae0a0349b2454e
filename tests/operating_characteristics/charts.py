"""What a chart signals over weeks of which nothing, or one step, is true."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from queries.statistics.charted import Days, Periods, Trend
from queries.statistics.trend import trend

BASELINE_WEEKS, AFTER, DAYS = 12, 40, 5
RATE, STEPPED, SEEN_WITHIN = 0.05, 0.10, 8
HEAD = (
    *("due a week", "likeness", "missing", "runs", "alarms in 100 weeks"),
    *("promised at most", "doubling seen, %"),
)


@dataclass(frozen=True)
class Weeks:
    """`due` checks a week over five days, correlation of a day's anchors, missing."""

    due: int
    likeness: float = 0.0
    missing: float = 0.0

    def draw(self, rng: np.random.Generator, *, is_stepped: bool) -> Trend:
        """Return the chart of 12 weeks and 40 more, at 5 %, or 10 % in these 40."""
        weeks = BASELINE_WEEKS + AFTER
        period = np.repeat(np.arange(weeks), DAYS)
        due = rng.multinomial(self.due, np.full(DAYS, 1 / DAYS), weeks).ravel()
        judged = rng.binomial(due, 1 - self.missing)
        p = np.where(is_stepped & (period >= BASELINE_WEEKS), STEPPED, RATE)
        if self.likeness:
            strength = 1 / self.likeness - 1
            p = rng.beta(p * strength, (1 - p) * strength)
        found = rng.binomial(judged, p)
        of_week = [np.bincount(period, each).astype(int) for each in (judged, found)]
        labels = [f"week {number}" for number in range(weeks)]
        return trend(
            Periods(labels, *of_week), Days(period, judged, found), None, "default"
        )


@dataclass(frozen=True)
class Charted:
    """`alarms`: streams of which nothing changes that signal for the first time, in 100
    weeks at risk; `promised`: 100 / the mean of the run lengths that the charts print
    (None: no chart could be drawn); `seen`: the share of doublings that signal within
    eight weeks.
    """

    weeks: Weeks
    runs: int
    alarms: float
    promised: float | None
    seen: float


def all_weeks() -> Iterator[Weeks]:
    """Yield what the report simulates."""
    for due in (0, 5, 30, 200, 1000, 5000):
        for likeness in (0.0, 0.02, 0.1):
            for missing in (0.0, 0.3):
                yield Weeks(due, likeness, missing)


def chart(weeks: Weeks, runs: int, rng: np.random.Generator) -> Charted:
    """Return what the charts of `runs` quiet and as many stepped streams signal."""
    alarms, at_risk, promised, seen = 0, 0, [], 0
    for _ in range(runs):
        found = weeks.draw(rng, is_stepped=False)
        first = _first_signal(found)
        alarms += first < AFTER
        at_risk += min(first + 1, AFTER)
        if found.run_length:
            promised.append(1 / found.run_length)
        seen += _first_signal(weeks.draw(rng, is_stepped=True)) < SEEN_WITHIN
    return Charted(
        weeks,
        runs,
        100 * alarms / at_risk,
        100 * float(np.mean(promised)) if promised else None,
        seen / runs,
    )


def _first_signal(found: Trend) -> int:
    after = found.points[BASELINE_WEEKS:]
    return next((at for at, point in enumerate(after) if point.signals), AFTER)


def chart_lines(charted: Sequence[Charted]) -> list[str]:
    """Return the report's section on charts."""
    lines = [
        "## Charts over time",
        "",
        f"{BASELINE_WEEKS} weeks of baseline at {RATE:.0%}, then {AFTER} like it,",
        f"or at {STEPPED:.0%}. Alarms: first signals of any rule, by weeks at risk.",
        "Promised: 100 over the printed run length. Seen: a signal within",
        f"{SEEN_WITHIN} weeks.",
        "",
        f"| {' | '.join(HEAD)} |",
        "|---" * len(HEAD) + "|",
    ]
    for each in charted:
        weeks = each.weeks
        known = (weeks.due, weeks.likeness, f"{weeks.missing:.0%}", each.runs)
        promised = "none" if each.promised is None else f"{each.promised:.1f}"
        found = (f"{each.alarms:.1f}", promised, f"{100 * each.seen:.1f}")
        lines.append(f"| {' | '.join(map(str, (*known, *found)))} |")
    return lines
