"""Counts held against peers who have habits of their own: beta-binomial tails."""

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

# Beyond this many pseudo-rows a beta-binomial is a binomial.
LARGEST_STRENGTH = 1e7
# Of the crews that a habit's size is learned from, those that stand out most are left
# out: one that invents its figures must not make inventing look usual.
LEFT_OUT = 0.1
FEWEST_TO_LEAVE_OUT = 4


def upper_tail(found: Counts, of: Counts, share: Floats, likeness: Floats) -> Floats:
    """Return P(K >= found) of a beta-binomial: `of` rows, mean `share`.

    `likeness` is the correlation of two rows (0: binomial). Terms are summed from
    `found` on by the ratio of neighbours (Johnson, Kemp and Kotz 2005, Univariate
    Discrete Distributions, 6.2.2), a step for all at once. All arrays alike in length,
    share inside (0, 1).
    """
    strength = 1 / np.clip(likeness, 1 / LARGEST_STRENGTH, 1 - 1e-9) - 1
    tail = np.ones(len(found))
    (at,) = np.nonzero(found > 0)
    k, n = found[at].astype(np.float64), of[at].astype(np.float64)
    a, b = (share * strength)[at], ((1 - share) * strength)[at]
    choices = -np.log(n + 1) - special.betaln(n - k + 1, k + 1)
    term = np.exp(choices + special.betaln(k + a, n - k + b) - special.betaln(a, b))
    total = term.copy()
    while (going := (k < n) & (term > 1e-12 * total)).any():
        ratio = (n - k) * (a + k) / ((k + 1) * np.maximum(b + n - k - 1, 1e-300))
        term = np.where(going, term * ratio, 0.0)
        total += term
        k = k + 1
    tail[at] = np.minimum(total, 1.0)
    return tail


def others_likeness(
    found: Counts, of: Counts, share: Floats, crew: Counts, crews: int
) -> Floats:
    """Return for each crew how alike rows of one batch are among all *other* crews.

    The correlation rho in Var K = n p (1 - p) (1 + (n - 1) rho), by moments, so that a
    crew's habit and a day's alike count. One entry a batch; `crew` from 0 to crews - 1.
    Of the other crews the tenth that stands out most is left out, and the rest scaled
    up by what a chi-square of one degree loses by that: F3(q) / F1(q) at its quantile.
    NaN where no other crew tells anything.
    """
    n, p = of.astype(np.float64), share
    spread = p * (1 - p)
    above = np.bincount(crew, (found - n * p) ** 2 - n * spread, crews)
    room = np.bincount(crew, n * (n - 1) * spread, crews)
    known = np.flatnonzero(room > 0)
    order = known[np.argsort(above[known] / room[known], kind="stable")]
    likeness = np.full(crews, np.nan)
    for one in range(crews):
        others = order[order != one]
        if not len(others):
            continue
        out = int(np.ceil(LEFT_OUT * len(others)))
        kept = others if len(others) < FEWEST_TO_LEAVE_OUT else others[:-out]
        rho = above[kept].sum() / room[kept].sum() / _lost(len(kept) / len(others))
        likeness[one] = min(max(rho, 0.0), 1.0)
    return likeness


def _lost(kept_share: float) -> float:
    """Return the mean of a chi-square of one degree below this quantile."""
    if kept_share >= 1:
        return 1.0
    quantile = special.chdtri(1, 1 - kept_share)
    return float(special.chdtr(3, quantile) / kept_share)


def against_peers(
    found: Counts,
    of: Counts,
    share: Floats,
    doubt: Floats,
    crew: Counts,
    crews: int,
) -> Floats:
    """Return each batch's chance of so many or more, were it one of its peers'.

    `doubt` of the share, as the correlation that not knowing it puts between rows: 1 /
    (peers + 2), which makes the tail Jeffreys' predictive one where peers have no
    habits. NaN where no other crew tells how far habits go.
    """
    habit = others_likeness(found, of, share, crew, crews)[crew]
    return np.where(
        np.isnan(habit),
        np.nan,
        upper_tail(found, of, share, np.nan_to_num(habit + doubt - habit * doubt)),
    )
