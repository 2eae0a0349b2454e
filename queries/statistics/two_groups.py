"""Many batches, a few of them unlike the rest: the probability of each."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

# No model of peers is believed beyond odds of a billion.
SMALLEST = 1e-9
# What is known of a crew beforehand weighs like this many of its batches.
CREW_PRIOR = 5.0
# How many crews are taken beforehand to be unlike their peers day after day, and how
# many single days at most of a crew that is not (project defaults). Nearly any crew has
# a habit; one in two hundred more than that.
UNLIKE_CREWS = 0.005
UNLIKE_DAYS = 0.001
STEEPEST, FLATTEST = 0.1, 0.5
STEPS = 200


def harmonic_mean_p(p_values: Floats) -> Floats:
    """Return one p-value a row: the harmonic mean of its p-values, NaN left out.

    Wilson 2019 (Proc. Natl. Acad. Sci. 116:1195-1200): holds approximately however the
    signs depend on each other, and the smaller the better. NaN where all are.
    """
    speaks = ~np.isnan(p_values)
    number = speaks.sum(axis=1)
    inverse = np.where(speaks, 1 / np.clip(p_values, SMALLEST, 1), 0).sum(axis=1)
    empty = np.full(len(p_values), np.nan)
    return np.asarray(np.divide(number, inverse, out=empty, where=number > 0))


@dataclass(frozen=True)
class TwoGroups:
    """`probability` of each batch not to be like its peers; NaN where nothing speaks.

    `share` of such batches in all; `shape` of their p-values' density.
    """

    probability: Floats
    share: float
    shape: float


def two_groups(p_value: Floats, crew: Counts, crews: int) -> TwoGroups:
    """Return how probably each batch is not like its peers.

    Beta-uniform mixture (Pounds and Morris 2003, Bioinformatics 19:1236-1242):
    p-values of batches like their peers are uniform (1), of others a p^(a-1). A share
    of others for each batch: that among the crew's *other* batches, shrunk to that of
    all like CREW_PRIOR batches, so that a weak sign that a crew shows every day counts,
    and on a single day does not. A crew's days are alike by its mere habits, though, so
    that share is never above how probably the crew is unlike its peers (`_unlike`), or
    UNLIKE_DAYS. Unlike is not edited: a crew with a far larger habit than all others is
    listed too, and nothing in a log tells the two apart. EM.
    The probability is cautious: all that could be uniform, the mixture's height at
    p = 1, counts as like the peers: 1 - f(1) / f(p), 0 where nothing shows.
    """
    asked = np.flatnonzero(~np.isnan(p_value))
    probability = np.full(len(p_value), np.nan)
    if not len(asked):
        return TwoGroups(probability, 0.0, FLATTEST)
    p, of = np.clip(p_value[asked], SMALLEST, 1), crew[asked]
    others = np.bincount(of, minlength=crews)[of] - 1
    unlike = _unlike(p, of, crews)
    share, shape, w = 0.05, 0.3, np.full(len(p), 0.05)
    for _ in range(STEPS):
        other = w * shape * p ** (shape - 1)
        member = other / (other + 1 - w)
        new_share = float(member.mean())
        logs = -float((member * np.log(p)).sum())
        shape = float(np.clip(member.sum() / max(logs, 1e-300), STEEPEST, FLATTEST))
        of_crew = np.bincount(of, member, crews)[of] - member
        w = (of_crew + CREW_PRIOR * new_share) / (others + CREW_PRIOR)
        w = np.minimum(w, np.maximum(unlike, min(new_share, UNLIKE_DAYS)))
        if abs(new_share - share) < 1e-7:
            break
        share = new_share
    flat = 1 - w + w * shape
    probability[asked] = 1 - flat / (1 - w + w * shape * p ** (shape - 1))
    return TwoGroups(probability, share, shape)


def _unlike(p: Floats, crew: Counts, crews: int) -> Floats:
    """Return for each batch how probably its crew is unlike its peers on other days.

    The crew's evidence is the harmonic mean of the p-values of its other batches, which
    holds however alike its days are, turned into a factor by which it moves the odds of
    UNLIKE_CREWS: (1 - h + h log h) / (h log(h)^2), whose mean is 1 where the crew is
    like the others (the averaged calibrator of Vovk and Wang 2021, Ann. Stat.
    49:1736-1754, section 2).
    """
    others = np.bincount(crew, minlength=crews)[crew] - 1
    inverse = np.bincount(crew, 1 / p, crews)[crew] - 1 / p
    mean = np.divide(others, inverse, out=np.ones_like(p), where=others > 0)
    # At 1 the factor is a half, of which floating point would make nothing.
    mean = np.clip(mean, SMALLEST, 0.999)
    logs = np.log(mean)
    odds = (1 - mean + mean * logs) / (mean * logs**2)
    odds *= UNLIKE_CREWS / (1 - UNLIKE_CREWS)
    return np.asarray(odds / (1 + odds))
