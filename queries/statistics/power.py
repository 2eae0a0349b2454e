"""From which true rate on a group would be flagged: what a silence is worth."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from queries.statistics.flagging import FLAGGED_AT

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

POWER = 0.80
# Under so many nonconforming, or conforming, a normal curve promises too much.
FEW = 25
# Counts of the others for which the rule is worked out, each as likely as the next.
NODES = 9
# Of so many anchors few are drawn as if each were put back.
MANY = 2000
HALVINGS = 40


@dataclass(frozen=True)
class LikeWork:
    """What a test within cells compares, as one cell would have it.

    `judged` of each row and `others` judged of like work, `others_rate` theirs for the
    row's own mix; 0 and NaN where nothing compares.
    """

    judged: Floats
    others: Floats
    others_rate: Floats


def like_work(n: Counts, m: Counts, m_found: Counts) -> LikeWork:
    """Return what n judged are compared with: m, of which m_found are nonconforming.

    A row a group, a column a cell. Cells in which one side has nothing tell nothing.
    The others' worth is what gives the variance of the test within cells, n m / (n + m)
    summed over them (Mantel and Haenszel 1959), in one cell.
    """
    both = (n > 0) & (m > 0)
    judged = np.where(both, n, 0).sum(axis=1).astype(np.float64)
    rates = np.divide(m_found, m, out=np.zeros(m.shape), where=m > 0)
    expected = np.where(both, n * rates, 0.0).sum(axis=1)
    weight = np.where(both, n / np.maximum(n + m, 1) * m, 0.0).sum(axis=1)
    is_known = judged > 0
    others = np.divide(
        weight * judged, judged - weight, out=np.zeros(len(judged)), where=is_known
    )
    rate = np.divide(expected, judged, out=np.full(len(judged), np.nan), where=is_known)
    return LikeWork(judged, others, rate)


def rate_seen(
    judged: Floats, others: Floats, others_rate: Floats, looks: int
) -> Floats:
    """Return each group's least true rate that would be flagged 8 times of 10.

    `judged` and `others` are anchors judged, of the group and of those it is set
    beside, whose true rate is taken to be `others_rate`; both may be divided by the
    inflation of bad days. Flagged is what is above them at 5 % divided by the `looks`,
    two-sided: what Benjamini-Hochberg asks of the first. NaN where not even a rate of
    1 would be, the others have that already, or there is nothing on a side.

    Normal sample-size formula for two proportions (as NIST/SEMATECH e-Handbook
    7.2.4.2, with unequal groups); where that has FEW to go by, the chance itself that
    the exact test with mid-p (of one stratum, exact.py) flags.
    """
    known = (judged > 0) & (others > 0) & (np.nan_to_num(others_rate, nan=1.0) < 1)
    rate = np.full(len(known), np.nan)
    if not known.any():
        return rate
    n, m, p_0 = judged[known], others[known], others_rate[known]
    found = _by_normal(n, m, p_0, looks)
    top = np.where(np.isnan(found), 1.0, found)
    is_few = np.minimum(n, m) * np.minimum(top, 1 - p_0) < FEW
    found[is_few] = _by_chance(_whole(n[is_few]), _whole(m[is_few]), p_0[is_few], looks)
    rate[known] = found
    return rate


def _by_normal(n: Floats, m: Floats, p_0: Floats, looks: int) -> Floats:
    at, reach = special.ndtri(1 - FLAGGED_AT / looks / 2), special.ndtri(POWER)

    def is_seen(rate: Floats) -> NDArray[np.bool_]:
        pooled = (rate * n + p_0 * m) / (n + m)
        null = np.sqrt(pooled * (1 - pooled) * (1 / n + 1 / m))
        true = np.sqrt(rate * (1 - rate) / n + p_0 * (1 - p_0) / m)
        return np.asarray(rate - p_0 >= at * null + reach * true)

    return _least(is_seen, p_0)


def _by_chance(n: Counts, m: Counts, p_0: Floats, looks: int) -> Floats:
    share = (np.arange(NODES) + 0.5) / NODES
    of_others = stats.binom.ppf(share, m[:, None], p_0[:, None]).astype(np.int64)
    needed = _least_flagged(n[:, None], m[:, None], of_others, FLAGGED_AT / looks / 2)
    can_be = needed <= n[:, None]
    left = np.where(can_be, n[:, None] - needed + 1, 1).astype(np.float64)

    def is_seen(rate: Floats) -> NDArray[np.bool_]:
        chance = special.betainc(needed.astype(np.float64), left, rate[:, None])
        return np.asarray((chance * can_be).mean(axis=1) >= POWER)

    return _least(is_seen, p_0)


def _least_flagged(n: Counts, m: Counts, of_others: Counts, tail: float) -> Counts:
    """Return the least count of n that the exact test calls more; n + 1: none."""
    low, high = np.zeros_like(of_others), np.broadcast_to(n + 1, of_others.shape).copy()
    while (high - low > 1).any():
        middle = (low + high) // 2
        found = middle + of_others
        at_least, more = (_reached(one, n, m, found) for one in (middle, middle + 1))
        is_flagged = (at_least + more) / 2 <= tail
        low, high = (
            np.where(is_flagged, low, middle),
            np.where(is_flagged, middle, high),
        )
    return high


def _reached(count: Counts, n: Counts, m: Counts, found: Counts) -> Floats:
    """Return the chance that n of n + m have so many or more of those found.

    Hypergeometric; of more than MANY in all binomial, in the fewest of n, m and found:
    that n have so many is that m have no more than the rest.
    """
    own, others = (np.broadcast_to(one, found.shape) for one in (n, m))
    total = own + others
    few, many = np.minimum(own, found), np.maximum(own, found)
    chance = np.where(
        others < few,
        1 - _binomial_reaches(found - count + 1, others, found / total),
        _binomial_reaches(count, few, many / total),
    )
    exact = total <= MANY
    chance[exact] = stats.hypergeom.sf(
        count[exact] - 1, total[exact], found[exact], own[exact]
    )
    return np.asarray(chance)


def _binomial_reaches(count: Counts, n: Counts, share: Floats) -> Floats:
    chance = special.betainc(np.maximum(count, 1), np.maximum(n - count + 1, 1), share)
    return np.where(count > n, 0.0, np.where(count < 1, 1.0, chance))


def _least(is_seen: Callable[[Floats], NDArray[np.bool_]], p_0: Floats) -> Floats:
    low, high = p_0.copy(), np.ones(len(p_0))
    is_possible = is_seen(high)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        seen = is_seen(middle)
        low, high = np.where(seen, low, middle), np.where(seen, middle, high)
    return np.where(is_possible, high, np.nan)


def _whole(worth: Floats) -> Counts:
    return np.maximum(np.rint(worth), 1).astype(np.int64)
