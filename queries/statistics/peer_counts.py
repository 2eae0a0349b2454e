"""Counts held against peers who have habits of their own: beta-binomial tails."""

from dataclasses import dataclass

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
    found: Counts, of: Counts, share: Floats, crew: Counts, site: Counts
) -> Floats:
    """Return for each crew how alike rows of one batch are among all *other* crews.

    The correlation rho in Var K = n p (1 - p) (1 + (n - 1) rho), by moments, so that a
    crew's habit and a day's alike count. One entry a batch; `crew` from 0, each with a
    place of its own in `site`, which is the site of each crew, from 0.

    Those of a crew's own site were held against it, too: where few work at a site, one
    that invents its figures made all of theirs look unlike it. Their shares are scaled
    so that they are met on average, which leaves m others m - 1 habits to learn from;
    and a crew is unlike the mean of m others by that of theirs, too: (m + 1) / (m - 1).
    Of all other crews the tenth that stands out most is left out, and the rest scaled
    up by what a chi-square of one degree loses by that: F3(q) / F1(q) at its quantile.
    NaN where no other crew tells anything.
    """
    sums = _Sums.of_crews(found, of, share, crew, len(site))
    above, room = sums.moments(np.ones(len(site)))
    tells = room > 0
    likeness = np.full(len(site), np.nan)
    for one in range(len(site)):
        beside, elsewhere = tells & (site == site[one]), tells & (site != site[one])
        beside[one] = False
        each = [(above[elsewhere], room[elsewhere])]
        if (count := int(beside.sum())) > 1:
            more, its_room = sums.scaled(beside)
            each.append((more * (count + 1) / (count - 1), its_room))
        all_above, all_room = (
            np.concatenate(parts) for parts in zip(*each, strict=True)
        )
        likeness[one] = _trimmed(all_above, all_room)
    return likeness


def _trimmed(above: Floats, room: Floats) -> float:
    """Return how alike rows are among crews, but for those that stand out most."""
    if not len(room):
        return np.nan
    order = np.argsort(above / room, kind="stable")
    out = int(np.ceil(LEFT_OUT * len(order)))
    kept = order if len(order) < FEWEST_TO_LEAVE_OUT else order[:-out]
    rho = above[kept].sum() / room[kept].sum() / _lost(len(kept) / len(order))
    return float(np.clip(rho, 0.0, 1.0))


@dataclass(frozen=True)
class _Sums:
    """Of each crew: what its moments are made of, whatever its shares are scaled by."""

    found: Floats
    expected: Floats
    largest: Floats
    squares: tuple[Floats, Floats, Floats]
    binomial: Floats
    pairs: tuple[Floats, Floats]

    @classmethod
    def of_crews(
        cls, found: Counts, of: Counts, share: Floats, crew: Counts, crews: int
    ) -> "_Sums":
        """Return the sums of crews numbered from 0."""
        k, n, p = found.astype(np.float64), of.astype(np.float64), share

        def total(values: Floats) -> Floats:
            return np.bincount(crew, values, crews).astype(np.float64)

        largest = np.full(crews, 1e-300)
        np.maximum.at(largest, crew, p)
        return cls(
            total(k),
            total(n * p),
            largest,
            (total(k**2), total(k * n * p), total((n * p) ** 2)),
            total(n * p**2),
            (total(n * (n - 1) * p), total(n * (n - 1) * p**2)),
        )

    def moments(self, scale: Floats) -> tuple[Floats, Floats]:
        """Return the squares above a binomial's, and what all alike would add."""
        plain, mixed, squared = self.squares
        binomial = scale * self.expected - scale**2 * self.binomial
        above = plain - 2 * scale * mixed + scale**2 * squared - binomial
        return above, scale * self.pairs[0] - scale**2 * self.pairs[1]

    def scaled(self, these: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """Return these crews' moments, with shares that they meet on average."""
        met = self.found[these].sum() / self.expected[these].sum()
        # No share beyond 1; and of nothing found nothing could be learned.
        scale = np.clip(met, 1e-6, 0.999 / self.largest)
        above, room = self.moments(scale)
        return above[these], room[these]


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
    site: Counts,
) -> Floats:
    """Return each batch's chance of so many or more, were it one of its peers'.

    `crew` and `site` as for others_likeness.

    `doubt` of the share, as the correlation that not knowing it puts between rows: 1 /
    (peers + 2), which makes the tail Jeffreys' predictive one where peers have no
    habits. NaN where no other crew tells how far habits go.
    """
    habit = others_likeness(found, of, share, crew, site)[crew]
    return np.where(
        np.isnan(habit),
        np.nan,
        upper_tail(found, of, share, np.nan_to_num(habit + doubt - habit * doubt)),
    )
