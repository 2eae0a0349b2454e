"""Which groups differ from the others: the test behind a comparison's flags."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.exact import mid_p_share, mid_p_strata
from queries.statistics.mix import comparable_work
from queries.statistics.multiple import benjamini_hochberg

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

FLAGGED_AT = 0.05
# One nonconforming anchor is a question about that anchor, not about who set it: where
# hardly any was expected it would be flagged however little was judged.
FEWEST_FLAGGED = 2
# Fewer days beside the first of each group cannot show bad days (project default).
DAYS_BESIDE = 10
# Exact strata above this many nonconforming cost more than they differ.
EXACT_UP_TO = 500


@dataclass(frozen=True)
class Cells:
    """Counts by group (row) and cell of size, drill method and orientation (column)."""

    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class GroupDays:
    """Counts by day of a group; `group` is the row of Cells."""

    group: Counts
    judged: Counts
    nonconforming: Counts


def ratio_of(top: NDArray[np.generic], bottom: NDArray[np.generic]) -> Floats:
    empty = np.full(len(top), np.nan)
    return np.asarray(np.divide(top, bottom, out=empty, where=np.asarray(bottom) > 0))


@dataclass(frozen=True)
class Weighed:
    """One entry a group: `inflation` of its own variance by bad days, `variation` of
    its comparison, p and q, whether it is flagged as worse, and whether it is worse at
    all; `can_tell`: some cell holds what could tell. `comparable_judged` and
    on: ComparableWork of mix.py. `correlation` of two anchors of one day.
    """

    correlation: float
    inflation: Floats
    variation: Floats
    p_value: Floats
    q_value: Floats
    flagged: NDArray[np.bool_]
    is_worse: NDArray[np.bool_]
    can_tell: NDArray[np.bool_]
    comparable_judged: Counts
    comparable_nonconforming: Counts
    difficulty: Floats
    difficulty_variance: Floats


def weigh(cells: Cells, days: GroupDays) -> Weighed:
    """Return which groups do their own mix worse than the others do it.

    Without bad days p-values are exact up to EXACT_UP_TO nonconforming in all.
    """
    judged = cells.judged.sum(axis=1)
    correlation = day_correlation(days.nonconforming, days.judged, days.group)
    inflation = design_effects(days.judged, days.group, len(judged), correlation)
    variation = comparison_variation(judged, inflation)
    given = strata_moments(cells)
    p_value = _p_values(cells, given, variation)
    q_value = q_values(p_value, given.can_tell)
    is_worse = given.observed > given.mean
    flagged = (q_value <= FLAGGED_AT) & is_worse & (given.observed >= FEWEST_FLAGGED)
    work = comparable_work(cells.judged, cells.nonconforming)
    return Weighed(
        correlation=correlation,
        inflation=inflation,
        variation=variation,
        p_value=p_value,
        q_value=q_value,
        flagged=flagged,
        is_worse=is_worse,
        can_tell=given.can_tell,
        comparable_judged=work.judged,
        comparable_nonconforming=work.nonconforming,
        difficulty=work.difficulty,
        difficulty_variance=work.difficulty_variance,
    )


def tells_days(days: GroupDays) -> bool:
    """Say whether bad days could be told from bad groups, so that flags keep to 5 %.

    Of one day each they cannot: of 6 alike groups one was flagged 41 times of 100, of
    two days each 12, of three or more 5 to 6 (simulated, anchors of a day correlated by
    0.15). So DAYS_BESIDE days beside each group's first.
    """
    known = days.group[days.judged > 0]
    return len(known) - len(np.unique(known)) >= DAYS_BESIDE


def q_values(p_value: Floats, can_tell: NDArray[np.bool_]) -> Floats:
    """Return the q-values of the questions that can tell; 1 of others that compare.

    Where a cell's anchors all conform, or none, p is 1 however they are dealt out: such
    questions raise no alarm, and counting them would only hide others (Tarone 1990,
    Biometrics 46:515-522).
    """
    q_value = benjamini_hochberg(np.where(can_tell, p_value, np.nan))
    return np.where(can_tell | np.isnan(p_value), q_value, 1.0)


def comparison_variation(judged: NDArray[np.generic], inflation: Floats) -> Floats:
    """Return the variance of group less others over that of independent anchors.

    Groups along the last axis; at least one has something judged.
    """
    n = np.asarray(judged, dtype=np.float64)
    total = n.sum(axis=-1, keepdims=True)
    others = total - n
    of_others = others_inflation(judged, inflation)
    return np.asarray((inflation * others + of_others * n) / np.maximum(total, 1))


def others_inflation(judged: NDArray[np.generic], inflation: Floats) -> Floats:
    """Return the inflation of all others of each: that of each, by its anchors' share.

    Groups along the last axis; 1 where there are no others.
    """
    n = np.asarray(judged, dtype=np.float64)
    others = n.sum(axis=-1, keepdims=True) - n
    weighted = n * inflation
    rest = weighted.sum(axis=-1, keepdims=True) - weighted
    return np.asarray(np.divide(rest, others, out=np.ones_like(n), where=others > 0))


@dataclass(frozen=True)
class Moments:
    """Each group's count given what every cell holds in all, over `mixed` cells.

    A cell is mixed where it can tell something: the group and others are in it, and
    some but not all of it is nonconforming.
    """

    mixed: NDArray[np.bool_]
    observed: Floats
    mean: Floats
    variance: Floats
    events: Floats

    @property
    def can_tell(self) -> NDArray[np.bool_]:
        """Whether a group has a mixed cell at all."""
        return np.asarray(self.mixed.any(axis=-1))


def strata_moments(cells: Cells) -> Moments:
    """Return the moments of every group's count, cells as they are in all."""
    n, x = cells.judged, cells.nonconforming
    return stratum_moments(n, x, n.sum(axis=0), x.sum(axis=0))


def stratum_moments(n: Counts, x: Counts, total: Counts, found: Counts) -> Moments:
    """Return the moments of Mantel and Haenszel 1959 (J. Natl. Cancer Inst. 22:719).

    Of the x nonconforming of n judged, a row a group and a column a cell, in which
    `found` of `total` are nonconforming (alike in shape, or one row for all groups).
    Sums over mixed cells of n X / N, and of the hypergeometric variances
    n (N - n) X (N - X) / (N^2 (N - 1)).
    """
    mixed = (n > 0) & (n < total) & (found > 0) & (found < total)
    safe = np.maximum(total, 2)
    variance = n / safe * (total - n) / safe * found * ((total - found) / (safe - 1))

    def over_mixed(values: NDArray[np.generic]) -> Floats:
        return np.asarray(np.where(mixed, values, 0).sum(axis=1), dtype=np.float64)

    return Moments(
        mixed=mixed,
        observed=over_mixed(x),
        mean=over_mixed(n * found / safe),
        variance=over_mixed(variance),
        events=over_mixed(np.broadcast_to(found, n.shape)),
    )


def _p_values(cells: Cells, given: Moments, variation: Floats) -> Floats:
    """Return two-sided mid-p of each group within cells; NaN where nothing compares.

    Exact where there is no extra variation and not too many counts.
    """
    p_value = matched_p(given, variation)
    total, found = cells.judged.sum(axis=0), cells.nonconforming.sum(axis=0)
    if np.allclose(variation, 1.0) and found.sum() <= EXACT_UP_TO:
        for group in np.flatnonzero(given.can_tell):
            here = given.mixed[group]
            p_value[group] = mid_p_strata(
                int(given.observed[group]),
                cells.judged[group, here],
                found[here],
                total[here],
            )
    comparable = ((cells.judged > 0) & (cells.judged < total)).any(axis=1)
    return np.where(comparable, p_value, np.nan)


def matched_p(given: Moments, variation: Floats) -> Floats:
    """Return the two-sided mid-p of a binomial share with the moments of the counts.

    Counts are divided so that its mean, and its variance times `variation`, agree.
    """
    share = np.divide(
        given.mean, given.events, out=0 * given.mean, where=given.events > 0
    )
    spread = given.events * share * (1 - share)
    scale = np.divide(
        variation * given.variance, spread, out=0 * spread + 1, where=spread > 0
    )
    scale = np.where(scale > 0, scale, 1.0)
    return mid_p_share(given.observed / scale, given.events / scale, share)
