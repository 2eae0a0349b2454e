"""Bad days: how alike the anchors of one day are, and what that costs in certainty."""

import numpy as np
from numpy.typing import NDArray

from queries.statistics.dispersion import (
    DaySums,
    excess_p,
    sum_days,
    table_moments,
)

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
    return float(correlations(sum_days(nonconforming, judged, group)))


def correlations(sums: DaySums) -> Floats:
    """Return day_correlation of groups along the last axis."""
    total, found = sums.n, sums.x
    p = np.divide(found, total, out=np.zeros_like(total), where=total > 0)
    pairs = sums.n_n - total
    others = total * (total - 1) - pairs
    # sum over i != j of one day of (y_i - p)(y_j - p), y = 0 or 1.
    residual = sums.x_x - 2 * p * sums.n_x + p**2 * sums.n_n
    within = residual - (1 - 2 * p) * found - p**2 * total
    squares = total * p * (1 - p)
    use = (squares > 0) & (pairs > 0) & (others > 0)
    between = np.where(use, -squares - within, 0.0) / np.where(use, others, 1.0)
    top = np.where(use, within - pairs * between, 0.0).sum(axis=-1)
    bottom = np.where(use, pairs * (p * (1 - p) - between), 0.0).sum(axis=-1)
    likeness = np.clip(top / np.where(bottom > 0, bottom, 1.0), 0.0, 1.0)
    differ = excess_p(*table_moments(sums)) <= DAYS_DIFFER_AT
    return np.asarray(np.where(differ & (bottom > 0), likeness, 0.0))


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
