"""Limits beside a baseline of which all anchors conform, or none.

Such a baseline gives no rate to put sigmas about, and a limit of 0 would call every
single nonconforming anchor an alarm. What follows is compared with it directly: how
easily all the nonconforming anchors of both would fall to the later part by chance,
had nothing changed (Fisher's exact test, one-sided: Fisher 1935, The Design of
Experiments, chapter 2). The same number is the chance that a rate of which nothing is
known but that baseline would give so many, the rate put at Beta(1, N) after N anchors.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.rare_events import TAIL

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

# Periods with work that are also taken together, to see what is slow.
TOGETHER = 8


def spotless_tail(found: Counts, judged: Counts, baseline: int) -> Floats:
    """Return the chance of `found` or more among `judged` after `baseline` without one.

    C(n, x) / C(N + n, x): of x among N + n anchors none is among the N. 1 where x is 0.
    """
    n, x = np.asarray(judged, float), np.asarray(found, float)
    log = special.gammaln(n + 1) - special.gammaln(n - x + 1)
    log -= special.gammaln(baseline + n + 1) - special.gammaln(baseline + n - x + 1)
    return np.asarray(np.exp(log))


def spotless_most(judged: Counts, baseline: int) -> Counts:
    """Return for each period the largest count whose tail is above 0.135 %.

    All that was judged where even so many would not do.
    """
    most = np.zeros(len(judged), dtype=np.int64)
    for index, n in enumerate(judged):
        counts = np.arange(int(n) + 1)
        tail = spotless_tail(counts, np.full(len(counts), n), baseline)
        most[index] = np.flatnonzero(tail > TAIL)[-1]
    return most


def spotless_drift(
    found: Counts, judged: Counts, after: Counts, baseline: int
) -> NDArray[np.bool_]:
    """Say for each period whether it and up to seven before have too many together.

    `after`: indices of the periods after the baseline, in their order; only those with
    work are added up.
    """
    signals = np.zeros(len(judged), dtype=bool)
    active = after[judged[after] > 0]
    for place, index in enumerate(active):
        window = active[max(0, place + 1 - TOGETHER) : place + 1]
        total, of = found[window].sum(), judged[window].sum()
        [tail] = spotless_tail(np.array([total]), np.array([of]), baseline)
        signals[index] = found[index] > 0 and tail <= TAIL
    return signals
