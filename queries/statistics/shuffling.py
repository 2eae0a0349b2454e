"""Does the rule that flags groups keep its promise on these very days?"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.clustering import correlations
from queries.statistics.dispersion import DaySums, day_terms
from queries.statistics.flagging import (
    FLAGGED_AT,
    GroupDays,
    Moments,
    comparison_variation,
    matched_p,
)
from queries.statistics.multiple import benjamini_hochberg

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

# Shuffles weighed at once: the larger, the more memory, the fewer calls.
AT_ONCE = 50


@dataclass(frozen=True)
class Shuffled:
    """What the rule flags where labels mean nothing.

    `any_share`: the share of shuffles in which it flags anybody; `flags`: how many a
    shuffle on average; `any_naive` the share if anchors of a day were independent.
    """

    shuffles: int
    any_share: float
    flags: float
    any_naive: float


def shuffle_labels(
    days: GroupDays, groups: int, shuffles: int = 1000, seed: int = 1
) -> Shuffled:
    """Deal the labels of whole days out again, and flag each time.

    A day keeps its anchors together, good or bad; only whose day it was is drawn
    anew, each group keeping its number of days. Whatever is then flagged is a false
    alarm. The mix of work is not in it: a shuffled group has everybody's. P-values are
    the approximate ones throughout, for speed. Margin of any_share: about
    2 sqrt(s (1 - s) / shuffles). Every group has a day with something judged.
    """
    rng = np.random.default_rng(seed)
    held = np.bincount(days.group, minlength=groups)
    starts = np.concatenate([[0], np.cumsum(held)[:-1]])
    # A row a day: rows are dealt in a seventh of the time of columns.
    terms = np.ascontiguousarray(day_terms(days.nonconforming, days.judged).T)
    clustered, naive = [], []
    for first in range(0, shuffles, AT_ONCE):
        dealt = [
            np.add.reduceat(np.take(terms, rng.permutation(len(terms)), 0), starts).T
            for _ in range(min(AT_ONCE, shuffles - first))
        ]
        sums = DaySums(*np.stack(dealt, axis=1))
        clustered.append(flags_of_sums(sums, correlations(sums)))
        naive.append(flags_of_sums(sums, np.zeros(len(dealt))))
    flagged, taken = np.concatenate(clustered), np.concatenate(naive)
    return Shuffled(
        shuffles,
        float((flagged > 0).mean()),
        float(flagged.mean()),
        float((taken > 0).mean()),
    )


def flags_of_sums(sums: DaySums, correlation: Floats) -> Counts:
    """Return how many groups (last axis) the rule of flagging.weigh flags each time.

    All in one cell; `correlation` of two anchors of one day, an entry a time.
    """
    n, x = sums.n, sums.x
    total, found = n.sum(axis=-1, keepdims=True), x.sum(axis=-1, keepdims=True)
    inflation = 1 + correlation[:, None] * (sums.n_n / n - 1)
    others, rest = total - n, total - found
    given = Moments(
        mixed=np.ones(n.shape, dtype=np.bool_),
        observed=x,
        mean=n * found / total,
        variance=n / total * (others / total) * found * rest / np.maximum(total - 1, 1),
        events=found * np.ones_like(n),
    )
    p_value = matched_p(given, comparison_variation(n, inflation))
    # A lone group has nobody to be compared with.
    p_value = np.where(others > 0, p_value, 1.0)
    is_worse = x > given.mean
    flagged = (benjamini_hochberg(p_value) <= FLAGGED_AT) & is_worse
    return np.asarray(flagged.sum(axis=-1))
