"""When another baseline would fit, and what it would hide."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from queries.statistics import run_rules
from queries.statistics.charted import Baseline, Periods
from queries.statistics.exact import mid_p_strata

Floats = NDArray[np.float64]


def rebase_note(
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


def uneven_note(beyond: Sequence[str]) -> tuple[str, ...]:
    """Warn of periods of the baseline that lie beyond its own limits."""
    if not beyond:
        return ()
    named = ", ".join(beyond[:3]) + (f" and {len(beyond) - 3} more" * (len(beyond) > 3))
    one = len(beyond) == 1
    note = (
        f"{named} {'lies' if one else 'lie'} beyond the limits in the baseline itself: "
        f"the centre holds what happened there, and later periods are set beside that; "
        "without it (firmset baseline set) they may read otherwise"
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
