"""Does the rule that flags groups keep its promise on these very days?"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.flagging import Cells, GroupDays, weigh

Counts = NDArray[np.int64]


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
    2 sqrt(s (1 - s) / shuffles).
    """
    rng = np.random.default_rng(seed)
    flagged = np.zeros((shuffles, 2), dtype=np.int64)
    alone = GroupDays(
        np.zeros(0, dtype=np.int64),
        np.zeros(0, dtype=np.int64),
        np.zeros(0, dtype=np.int64),
    )
    for number in range(shuffles):
        label = rng.permutation(days.group)
        cells = Cells(
            _counts(label, days.judged, groups),
            _counts(label, days.nonconforming, groups),
        )
        dealt = GroupDays(label, days.judged, days.nonconforming)
        flagged[number] = (
            weigh(cells, dealt, exact_up_to=0).flagged.sum(),
            weigh(cells, alone, exact_up_to=0).flagged.sum(),
        )
    any_share, any_naive = (flagged > 0).mean(axis=0)
    return Shuffled(
        shuffles, float(any_share), float(flagged[:, 0].mean()), float(any_naive)
    )


def _counts(label: Counts, values: Counts, groups: int) -> Counts:
    return np.bincount(label, values, groups).astype(np.int64)[:, None]
