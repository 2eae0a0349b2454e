"""What of a difference is the mix of work, and what the doing of it.

`judged` and `nonconforming` are tables: a row a group, a column a cell (one anchor
size, drill method and orientation).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

# From such a share of its anchors on in cells of its own, or of the difference found
# in them, a row's mix and doing cannot be told apart (project defaults).
MUCH_ALONE = 0.1
OWED_TO_ALONE = 0.5


@dataclass(frozen=True)
class Expected:
    """What each group would have at the others' rates, cell by cell.

    `count` nonconforming expected over the cells in which others judged anything,
    `observed` the group's own there.
    """

    count: Floats
    observed: Floats


@dataclass(frozen=True)
class Alone:
    """What each row judged, and found `nonconforming`, where its others have nothing:
    there is no yardstick for it."""

    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class Split:
    """Group's rate less the others' = `mix` + `performance`, as fractions."""

    mix: Floats
    performance: Floats


def _ratio(top: Counts, bottom: Counts) -> Floats:
    empty = np.full(np.broadcast(top, bottom).shape, np.nan)
    return np.asarray(np.divide(top, bottom, out=empty, where=bottom > 0))


def expected_from_others(judged: Counts, nonconforming: Counts) -> Expected:
    """Return indirectly standardised counts, each group left out of its own yardstick.

    Sum over cells of the group's judged times the others' rate (Breslow and Day 1987,
    Statistical Methods in Cancer Research II, ch. 2).
    """
    others = judged.sum(axis=0) - judged
    rates = _ratio(nonconforming.sum(axis=0) - nonconforming, others)
    known = others > 0
    return Expected(
        count=np.where(known, judged * rates, 0.0).sum(axis=1),
        observed=np.where(known, nonconforming, 0).sum(axis=1).astype(np.float64),
    )


def split_difference(judged: Counts, nonconforming: Counts) -> Split:
    """Return split_from of each group and all the others together."""
    return split_from(
        judged,
        nonconforming,
        judged.sum(axis=0) - judged,
        nonconforming.sum(axis=0) - nonconforming,
    )


def split_from(
    judged: Counts, nonconforming: Counts, others: Counts, others_found: Counts
) -> Split:
    """Return the order-free split of each row's difference from its others.

    Counts by row and cell, those of the row's others beside them.
    mix = sum of (difference in share) x (mean of the two rates), performance = sum of
    (mean of the two shares) x (difference in rate) (Kitagawa 1955, J. Am. Stat. Assoc.
    50:1168-1194). In a cell where one side judged nothing its rate is taken as the
    other's: the cell counts as mix (told_apart). NaN where row and others share no
    cell.
    """
    own_rate = _ratio(nonconforming, judged)
    others_rate = _ratio(others_found, others)
    own_share = _ratio(judged, judged.sum(axis=1, keepdims=True))
    others_share = _ratio(others, others.sum(axis=1, keepdims=True))
    own_rate, others_rate = (
        np.where(np.isnan(own_rate), others_rate, own_rate),
        np.where(np.isnan(others_rate), own_rate, others_rate),
    )
    empty = (judged == 0) & (others == 0)
    shared = ((judged > 0) & (others > 0)).any(axis=1)
    mix = (own_share - others_share) * (own_rate + others_rate) / 2
    performance = (own_share + others_share) / 2 * (own_rate - others_rate)

    def added(parts: Floats) -> Floats:
        total = np.where(empty, 0.0, parts).sum(axis=1)
        return np.where(shared, total, np.nan)

    return Split(mix=added(mix), performance=added(performance))


def alone_of(judged: Counts, nonconforming: Counts, others: Counts) -> Alone:
    """Return what each row has in cells in which its others have nothing."""
    is_alone = others == 0
    return Alone(
        np.where(is_alone, judged, 0).sum(axis=1),
        np.where(is_alone, nonconforming, 0).sum(axis=1),
    )


def told_apart(split: Split, judged: Counts, alone: Alone) -> Split:
    """Return the split, NaN where what a row did alone makes much of it.

    split_from counts that as mix, for want of a yardstick: it would excuse whoever
    alone does some work, however badly.
    """
    total = np.maximum(judged.sum(axis=1), 1)
    difference = np.abs(split.mix + split.performance)
    owed = alone.nonconforming / total
    unclear = (alone.judged > MUCH_ALONE * total) | (
        (alone.nonconforming > 0) & (owed >= OWED_TO_ALONE * difference)
    )
    return Split(
        np.where(unclear, np.nan, split.mix),
        np.where(unclear, np.nan, split.performance),
    )


@dataclass(frozen=True)
class ComparableWork:
    """What each group did in cells in which others judged anything too.

    `difficulty`: how hard that mix of cells is, the average mix being 1;
    `difficulty_variance` of its logarithm, the others' anchors being independent.
    """

    judged: Counts
    nonconforming: Counts
    difficulty: Floats
    difficulty_variance: Floats


def comparable_work(judged: Counts, nonconforming: Counts) -> ComparableWork:
    """Return each group's work that others did too, and how hard it is.

    Expected rate of the group's mix / expected rate of the average mix, both at the
    others' rates: a group's own rate in a cell that few others have says how it works,
    not how hard the cell is; in a cell that none has nothing says it. x of n in a cell
    count as (x + 1) / (n + 1 / r), r the others' overall rate: the posterior mean of a
    Poisson rate under an exponential prior of mean r (Gelman et al. 2013, Bayesian Data
    Analysis, 2.6), of relative variance 1 / (x + 1). The variance of the logarithm of
    the ratio follows by the delta method (the same rates are in both of its parts).
    1 and 0 where there is nothing to compare.
    """
    total = judged.sum(axis=0)
    others, found = total - judged, nonconforming.sum(axis=0) - nonconforming
    own_n, all_n = np.where(others > 0, judged, 0), np.where(others > 0, total, 0)
    harder = _harder(own_n, all_n, others, found)
    return ComparableWork(
        judged=own_n.sum(axis=1),
        nonconforming=np.where(others > 0, nonconforming, 0).sum(axis=1),
        difficulty=harder.times,
        difficulty_variance=harder.variance,
    )


@dataclass(frozen=True)
class Harder:
    """How hard each group's mix is, another being 1, and the variance of the logarithm
    of that, the others' anchors being independent; 1 and 0 without either mix."""

    times: Floats
    variance: Floats


def mix_change(before: Counts, after: Counts, nonconforming: Counts) -> Harder:
    """Return how much harder each group's work became, at the others' rates.

    Judged `before` and `after` by group and cell, `nonconforming` of both together.
    Rates and variance as in comparable_work; in a cell of its own the others' overall
    rate stands, about as uncertain as it is large.
    """
    judged = before + after
    others = judged.sum(axis=0) - judged
    found = nonconforming.sum(axis=0) - nonconforming
    return _harder(after, before, others, found)


def _harder(mix: Counts, than: Counts, others: Counts, found: Counts) -> Harder:
    """Return how hard a mix is beside another, by `found` of the `others` in a cell."""
    overall = _ratio(found.sum(axis=1), others.sum(axis=1))
    known = (overall > 0) & (mix.sum(axis=1) > 0) & (than.sum(axis=1) > 0)
    prior = np.where(known, overall, 1.0)[:, np.newaxis]
    rates = (found + 1) / (others + 1 / prior)
    parts = [_share(one) * rates for one in (mix, than)]
    here, there = (
        np.where(known, part.sum(axis=1), 1.0)[:, np.newaxis] for part in parts
    )
    apart = parts[0] / here - parts[1] / there
    return Harder(
        times=np.asarray((here / there)[:, 0]),
        variance=np.where(known, (apart**2 / (found + 1)).sum(axis=1), 0.0),
    )


def _share(judged: Counts) -> Floats:
    """Return each cell's share of its row; 0 in a row without any."""
    total = judged.sum(axis=-1, keepdims=True)
    return np.asarray(judged / np.maximum(total, 1))
