"""Does the rule that flags groups keep its promise on these very days?"""

from dataclasses import dataclass
from functools import cached_property

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
# Up to so many cells of group x kind of day for each day, counting days by cell and
# summing the cells is the faster way.
CELLS_A_DAY = 4
# So many standard deviations from its mean a count has a mid-p of 0.1 at least,
# whatever its binomial (tests/queries/statistics/test_shuffling.py): no flag.
NEAR = 1.5


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
    deck = _deck(days, groups)
    clustered, naive = [], []
    for first in range(0, shuffles, AT_ONCE):
        many = min(AT_ONCE, shuffles - first)
        dealt = [deck.sums(rng.permutation(deck.kind)) for _ in range(many)]
        sums = DaySums(*np.stack(dealt, axis=1))
        clustered.append(flags_of_sums(sums, correlations(sums)))
        naive.append(flags_of_sums(sums, np.zeros(many)))
    flagged, taken = np.concatenate(clustered), np.concatenate(naive)
    return Shuffled(
        shuffles,
        float((flagged > 0).mean()),
        float(flagged.mean()),
        float((taken > 0).mean()),
    )


@dataclass(frozen=True)
class _Deck:
    """Days to be dealt out: `kind` (a day) numbers its counts, places go by group.

    `terms` (of DaySums, kinds), `held` (a group) its number of days.
    """

    kind: Counts
    terms: Floats
    held: Counts

    def sums(self, kind: Counts) -> Floats:
        """Return DaySums' fields (a row each) of the groups, days lying as `kind`."""
        kinds, groups = self.terms.shape[1], len(self.held)
        if kinds * groups > CELLS_A_DAY * len(kind):
            starts = np.cumsum(self.held) - self.held
            laid = np.take(self.terms, kind, axis=1)
            return np.asarray(np.add.reduceat(laid, starts, axis=1))
        cells = np.bincount(self._first_cell + kind, minlength=kinds * groups)
        return np.asarray(self.terms @ cells.reshape(groups, kinds).T)

    @cached_property
    def _first_cell(self) -> Counts:
        """Return for each place the cell of its group and the first kind of day."""
        groups = np.arange(len(self.held))
        return np.repeat(groups * self.terms.shape[1], self.held)


def _deck(days: GroupDays, groups: int) -> _Deck:
    """Return the days of the groups; days of the same counts are of one kind."""
    counts = np.stack([days.judged, days.nonconforming])
    (judged, found), kind = np.unique(counts, axis=1, return_inverse=True)
    held = np.bincount(days.group, minlength=groups)
    return _Deck(kind.ravel(), day_terms(found, judged), held)


def flags_of_sums(sums: DaySums, correlation: Floats) -> Counts:
    """Return how many groups (last axis) the rule of flagging.weigh flags each time.

    All in one cell; `correlation` of two anchors of one day, an entry a time.
    """
    n, x = sums.n, sums.x
    total, found = n.sum(axis=-1, keepdims=True), x.sum(axis=-1, keepdims=True)
    inflation = 1 + correlation[:, None] * (sums.n_n / n - 1)
    others, rest = total - n, total - found
    mean = n * found / total
    variance = n / total * (others / total) * found * rest / np.maximum(total - 1, 1)
    variation = comparison_variation(n, inflation)
    is_far = (x - mean) ** 2 > NEAR**2 * variation * variance
    # A lone group has nobody to be compared with.
    asked = is_far & (others > 0)
    given = Moments(
        mixed=np.ones(int(asked.sum()), dtype=np.bool_),
        observed=x[asked],
        mean=mean[asked],
        variance=variance[asked],
        events=np.broadcast_to(found, n.shape)[asked],
    )
    # Which p-values above FLAGGED_AT are how large changes no flag.
    p_value = np.ones(n.shape)
    p_value[asked] = matched_p(given, variation[asked])
    is_worse = x > mean
    flagged = (benjamini_hochberg(p_value) <= FLAGGED_AT) & is_worse
    return np.asarray(flagged.sum(axis=-1))
