"""One period beside the one before it: many looks at once, each within like work."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.exact import mid_p_strata
from queries.statistics.flagging import (
    EXACT_UP_TO,
    FLAGGED_AT,
    Cells,
    Moments,
    comparison_variation,
    matched_p,
    q_values,
    ratio_of,
    stratum_moments,
)
from queries.statistics.mix import alone_of, split_from, told_apart
from queries.statistics.power import like_work, rate_seen

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Change:
    """One entry a look; rates and parts are fractions, NaN where undefined.

    `difference` later less earlier, with its 95 % interval `low` to `high`;
    `mix_part` + `performance_part` = `difference`, NaN where they cannot be told apart;
    `alone_judged`, `alone_nonconforming`: what the later period has of kinds of work
    that the earlier has none of. `p_value` (two-sided) asks whether
    the same work was done otherwise, `q_value` allows for the number of looks,
    `is_changed` where it is at most 5 %; `is_worse`: within like work more was
    nonconforming than before, which the plain rates may hide or turn round.
    `detectable_rise`: the smallest rise in like work that would be called a change 8
    times of 10.
    """

    earlier_rate: Floats
    later_rate: Floats
    difference: Floats
    low: Floats
    high: Floats
    mix_part: Floats
    performance_part: Floats
    alone_judged: Counts
    alone_nonconforming: Counts
    p_value: Floats
    q_value: Floats
    is_changed: NDArray[np.bool_]
    is_worse: NDArray[np.bool_]
    detectable_rise: Floats


def period_change(
    earlier: Cells, later: Cells, earlier_inflation: Floats, later_inflation: Floats
) -> Change:
    """Return what changed from one period to the next, look by look.

    A row a look (one group and check), a column a cell of like work. The inflations
    are by how much bad days make each row's variance exceed that of independent
    anchors (design_effects). The difference is of plain rates; the test is held within
    cells, so that harder work is not called a change.
    """
    n_0, n_1 = earlier.judged.sum(axis=1), later.judged.sum(axis=1)
    x_0, x_1 = earlier.nonconforming.sum(axis=1), later.nonconforming.sum(axis=1)
    low, high = newcombe_limits(
        x_0 / earlier_inflation,
        n_0 / earlier_inflation,
        x_1 / later_inflation,
        n_1 / later_inflation,
    )
    alone = alone_of(later.judged, later.nonconforming, earlier.judged)
    split = told_apart(
        split_from(
            later.judged, later.nonconforming, earlier.judged, earlier.nonconforming
        ),
        later.judged,
        alone,
    )
    given = stratum_moments(
        later.judged,
        later.nonconforming,
        earlier.judged + later.judged,
        earlier.nonconforming + later.nonconforming,
    )
    p_value = _p_values(earlier, later, given, earlier_inflation, later_inflation)
    q_value = q_values(p_value, given.can_tell)
    looks = max(int((~np.isnan(p_value)).sum()), 1)
    rate = ratio_of(x_0, n_0)
    like = like_work(later.judged, earlier.judged, earlier.nonconforming)
    seen = rate_seen(
        like.judged / later_inflation,
        like.others / earlier_inflation,
        like.others_rate,
        looks,
    )
    return Change(
        earlier_rate=rate,
        later_rate=ratio_of(x_1, n_1),
        difference=ratio_of(x_1, n_1) - rate,
        low=low,
        high=high,
        mix_part=split.mix,
        performance_part=split.performance,
        alone_judged=alone.judged,
        alone_nonconforming=alone.nonconforming,
        p_value=p_value,
        q_value=q_value,
        is_changed=q_value <= FLAGGED_AT,
        is_worse=given.observed > given.mean,
        detectable_rise=np.where(np.isnan(p_value), np.nan, seen - like.others_rate),
    )


def wilson_limits(x: Floats, n: Floats) -> tuple[Floats, Floats]:
    """Return the 95 % limits of x of n (Wilson 1927); NaN where n is 0.

    Counts may be divided by an inflation, and need not be whole.
    """
    z = special.ndtri(0.975)
    p = ratio_of(x, n)
    safe = np.where(n > 0, n, 1.0)
    middle = (p + z**2 / (2 * safe)) / (1 + z**2 / safe)
    reach = z / (1 + z**2 / safe) * np.sqrt(p * (1 - p) / safe + (z / (2 * safe)) ** 2)
    return np.maximum(middle - reach, 0.0), np.minimum(middle + reach, 1.0)


def newcombe_limits(
    x_0: Floats, n_0: Floats, x_1: Floats, n_1: Floats
) -> tuple[Floats, Floats]:
    """Return the 95 % limits of x_1 / n_1 - x_0 / n_0.

    Hybrid score interval, method 10 of Newcombe 1998 (Stat. Med. 17:873-890): from the
    Wilson limits of both rates. NaN where either n is 0.
    """
    p_0, p_1 = ratio_of(x_0, n_0), ratio_of(x_1, n_1)
    low_0, high_0 = wilson_limits(x_0, n_0)
    low_1, high_1 = wilson_limits(x_1, n_1)
    difference = p_1 - p_0
    return (
        difference - np.hypot(p_1 - low_1, high_0 - p_0),
        difference + np.hypot(high_1 - p_1, p_0 - low_0),
    )


def _p_values(
    earlier: Cells,
    later: Cells,
    given: Moments,
    earlier_inflation: Floats,
    later_inflation: Floats,
) -> Floats:
    """Return two-sided mid-p of each look within its cells; NaN where none is shared.

    Exact where bad days add nothing and counts are not too many.
    """
    judged = np.stack([earlier.judged.sum(axis=1), later.judged.sum(axis=1)], axis=-1)
    inflation = np.stack([earlier_inflation, later_inflation], axis=-1)
    variation = comparison_variation(judged, inflation)[:, 1]
    n, x = earlier.judged + later.judged, earlier.nonconforming + later.nonconforming
    p_value = matched_p(given, variation)
    is_exact = np.isclose(variation, 1.0) & (given.events <= EXACT_UP_TO)
    for look in np.flatnonzero(given.can_tell & is_exact):
        here = given.mixed[look]
        p_value[look] = mid_p_strata(
            int(given.observed[look]),
            later.judged[look, here],
            x[look, here],
            n[look, here],
        )
    shared = ((earlier.judged > 0) & (later.judged > 0)).any(axis=1)
    return np.where(shared, p_value, np.nan)
