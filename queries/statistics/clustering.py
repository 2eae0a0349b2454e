"""Bad days: how alike the anchors of one day are, and what that costs in certainty."""

import numpy as np
from numpy.typing import NDArray

from queries.statistics.dispersion import day_dispersion

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

# Below this chance the days differ for real. Lenient: overlooking bad days costs false
# alarms, seeing them where there are none costs a little power.
DAYS_DIFFER_AT = 0.20


def day_correlation(nonconforming: Counts, judged: Counts, group: Counts) -> float:
    """Return the correlation of two anchors of one day, within groups; never below 0.

    One entry a day of a group. Each group is held to its own rate, so that differences
    between groups do not count, and two groups are as good as five hundred. Mean
    product of residuals over pairs of one day, less that over pairs of different days
    (which carries the bias of the estimated rate), over the variance; summed over
    groups with the pairs of one day as weights. 0 where the days vary no more than
    chance explains (exact-moment test, p > 0.20).
    """
    if day_dispersion(nonconforming, judged, group).p_value > DAYS_DIFFER_AT:
        return 0.0
    x, n = nonconforming.astype(np.float64), judged.astype(np.float64)
    total = np.bincount(group, n)
    rate = np.divide(np.bincount(group, x), total, out=total * 0, where=total > 0)
    pairs = np.bincount(group, n * (n - 1))
    others = total * (total - 1) - pairs
    p = rate[group]
    # sum over i != j of one day of (y_i - p)(y_j - p), y = 0 or 1.
    within = np.bincount(group, (x - n * p) ** 2 - x * (1 - 2 * p) - n * p**2)
    squares = total * rate * (1 - rate)
    use = (squares > 0) & (pairs > 0) & (others > 0)
    between = (-squares - within)[use] / others[use]
    top = (within[use] - pairs[use] * between).sum()
    bottom = (pairs[use] * ((rate * (1 - rate))[use] - between)).sum()
    return float(min(max(top / bottom, 0.0), 1.0)) if bottom > 0 else 0.0


def design_effects(
    judged: Counts, group: Counts, groups: int, correlation: float
) -> Floats:
    """Return by how much each group's variance exceeds that of independent anchors.

    1 + correlation (sum n_day^2 / sum n_day - 1) (Kish 1965, Survey Sampling 5.4); 1
    for a group with nothing judged.
    """
    n = np.bincount(group, judged, groups)
    squares = np.bincount(group, judged.astype(np.float64) ** 2, groups)
    mean_mates = np.divide(squares, n, out=np.ones(groups), where=n > 0) - 1
    return np.asarray(1 + correlation * mean_mates)
