"""What the missing answers would have to be for a comparison to turn round."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Counts = NDArray[np.int64]


@dataclass(frozen=True)
class Tipping:
    """One entry a group, of its plain rate beside the others'.

    `side`: 1 where its rate is above theirs, -1 below, 0 equal or nothing to compare.
    `by`: whose missing answers would turn it round: "own"; "others" (its own cannot,
    whatever they are); "nobody" (not even all at once); "" where side is 0.
    `conforming`: of "own" or "others", how many of these missing answers must conform
    for it: at least so many where the named ones' rate has to fall, at most so many
    where it has to rise; -1 otherwise. Turned round is the others' rate or beyond.
    """

    side: Counts
    by: tuple[str, ...]
    conforming: Counts


def tipping(judged: Counts, nonconforming: Counts, missing: Counts) -> Tipping:
    """Return what would turn each group's comparison with the others round.

    Nothing is assumed of a group's own missing answers; the others' are first taken to
    be like what they recorded, and only where the group's own cannot turn it (these
    then at their most favourable end) are the others' searched too. In closed form,
    in whole answers.
    """
    x_all, n_all, m_all = nonconforming.sum(), judged.sum(), missing.sum()
    sides, turned_by, needed = [], [], []
    for x, n, m in zip(
        nonconforming.tolist(), judged.tolist(), missing.tolist(), strict=True
    ):
        others = (int(x_all) - x, int(n_all) - n, int(m_all) - m)
        side, by, conforming = _turn((x, n, m), others)
        sides.append(side)
        turned_by.append(by)
        needed.append(conforming)
    return Tipping(np.array(sides), tuple(turned_by), np.array(needed))


Group = tuple[int, int, int]


def _turn(group: Group, others: Group) -> tuple[int, str, int]:
    """Return side, by and conforming of one group: (nonconforming, judged, missing)."""
    x, n, m = group
    x_o, n_o, m_o = others
    if not n or not n_o or x * n_o == x_o * n:
        return 0, "", -1
    if x * n_o > x_o * n:
        # (x + m - k) / (n + m) <= x_o / n_o, for k of its own conforming.
        own = _at_least(x + m, n + m, x_o, n_o)
        if own <= m:
            return 1, "own", own
        # Its own all conform; (x_o + m_o - k) / (n_o + m_o) >= x / (n + m).
        theirs = _at_most(x_o + m_o, n_o + m_o, x, n + m)
        return (1, "others", theirs) if theirs >= 0 else (1, "nobody", -1)
    # (x + m - k) / (n + m) >= x_o / n_o.
    own = _at_most(x + m, n + m, x_o, n_o)
    if own >= 0:
        return -1, "own", own
    # None of its own conforms; (x_o + m_o - k) / (n_o + m_o) <= (x + m) / (n + m).
    theirs = _at_least(x_o + m_o, n_o + m_o, x + m, n + m)
    return (-1, "others", theirs) if theirs <= m_o else (-1, "nobody", -1)


def _at_least(top: int, of: int, other: int, other_of: int) -> int:
    """Return the smallest k with (top - k) / of <= other / other_of."""
    return top - other * of // other_of


def _at_most(top: int, of: int, other: int, other_of: int) -> int:
    """Return the largest k with (top - k) / of >= other / other_of; below 0: none."""
    return top + -(other * of) // other_of
