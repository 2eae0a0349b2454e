"""Charts for checks that are hardly ever nonconforming.

A period then has no or one nonconforming anchor, and a p chart's limits mean little.
What is watched is the number of conforming anchors between two nonconforming ones
(g chart: Benneyan 2001, Health Care Management Science 4:305-318).

Logs do not tell the order inside a day. A gap is therefore a range, from the smallest
to the largest that any order would give, with the mean over all orders in between;
it signals only if it would whatever the order.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

# One tail of three sigmas.
TAIL = 0.00135
# Gaps added up to see events that come too close: one short gap proves nothing.
CLOSE_EVENTS = 4


@dataclass(frozen=True)
class GapLimits:
    """Limits of a g chart, in conforming anchors between two nonconforming ones.

    `upper` is mean + 3 sqrt(mean (mean + 1)); `upper_exact` the smallest gap that is
    reached by chance in at most 0.135 % of gaps.
    """

    centre: float
    upper: float
    upper_exact: int
    close_sum: int | None


@dataclass(frozen=True)
class Gaps:
    """Gaps before each nonconforming anchor but the first; `day` is the day's index."""

    day: Counts
    low: Floats
    middle: Floats
    high: Floats


def gap_limits(mean: float) -> GapLimits:
    """Return the limits for geometric gaps of this mean (Benneyan 2001).

    `close_sum`: the largest sum of CLOSE_EVENTS gaps in a row that chance undercuts
    or reaches in at most 0.135 % of cases (negative binomial); None where even 0 does
    not.
    """
    rate = 1 / (1 + mean)
    upper_exact = int(np.ceil(np.log(TAIL) / np.log1p(-rate) - 1e-9))
    sums = np.arange(upper_exact * CLOSE_EVENTS + 1)
    within = np.flatnonzero(special.nbdtr(sums, CLOSE_EVENTS, rate) <= TAIL)
    return GapLimits(
        centre=mean,
        upper=float(mean + 3 * np.sqrt(mean * (mean + 1))),
        upper_exact=upper_exact,
        close_sum=int(within[-1]) if len(within) else None,
    )


def event_gaps(nonconforming: Counts, judged: Counts) -> Gaps:
    """Return the gaps of a row of days, in order of date.

    The k events of a day cut its m conforming anchors into k + 1 pieces of m / (k + 1)
    on average.
    """
    day: list[int] = []
    ranges: list[tuple[float, float, float]] = []
    since = piece = last_conforming = 0.0
    is_open = False
    for index, (x, n) in enumerate(zip(nonconforming, judged, strict=True)):
        conforming = float(n - x)
        if x == 0:
            since += conforming
            continue
        share = conforming / (x + 1)
        if is_open:
            day.append(index)
            ranges.append(
                (since, since + piece + share, since + last_conforming + conforming)
            )
        for _ in range(int(x) - 1):
            day.append(index)
            ranges.append((0.0, share, conforming))
        since, piece, last_conforming, is_open = 0.0, share, conforming, True
    table = np.array(ranges, dtype=np.float64).reshape(-1, 3)
    return Gaps(np.array(day, dtype=np.int64), table[:, 0], table[:, 1], table[:, 2])


def gap_signals(gaps: Gaps, limits: GapLimits) -> list[str | None]:
    """Return for each gap "gap_long", "gaps_short" or None.

    gap_long: longer than the exact limit in any order, so the rate has fallen.
    gaps_short: this and the three gaps before add up to no more than close_sum in any
    order, so the rate has risen. The order inside a day moves conforming anchors from
    one gap to the next; the largest sum of four is bounded by the sum of their highs.
    """
    signals: list[str | None] = []
    for index in range(len(gaps.day)):
        recent = gaps.high[max(0, index + 1 - CLOSE_EVENTS) : index + 1]
        is_close = (
            limits.close_sum is not None
            and len(recent) == CLOSE_EVENTS
            and recent.sum() <= limits.close_sum
        )
        is_long = gaps.low[index] >= limits.upper_exact
        signals.append("gap_long" if is_long else "gaps_short" if is_close else None)
    return signals


def exact_upper(judged: Counts, rate: float) -> Floats:
    """Return for each period the largest rate that is within the exact limit.

    That is the largest count c with P(X >= c) > 0.135 %, X binomial over the period's
    judged, divided by them. NaN where nothing was judged.
    """
    limits = np.full(len(judged), np.nan)
    for index, n in enumerate(judged):
        if n > 0:
            counts = np.arange(int(n) + 1)
            # P(X >= c) = I_p(c, n - c + 1), 1 for c = 0.
            tail = np.ones(int(n) + 1)
            tail[1:] = special.betainc(counts[1:], n - counts[1:] + 1, rate)
            limits[index] = (np.flatnonzero(tail > TAIL)[-1]) / n
    return limits
