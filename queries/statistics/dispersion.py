"""Do the days of one stratum differ more than chance alone would let them?

Nonconforming anchors come in bad days (a worn bit, a wrong wrench, a hurried Friday).
Where they do, limits and p-values that take anchors as independent promise too much.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Dispersion:
    """Variation between days beside what chance alone gives.

    `ratio` is 1 where the days vary as much as independent anchors would, `p_value`
    the chance of so much variation or more, `days` the number of days in strata that
    can say anything. Where none can, ratio and p_value are 1.
    """

    ratio: float
    p_value: float
    days: int


def day_dispersion(
    nonconforming: Counts, judged: Counts, stratum: Counts
) -> Dispersion:
    """Return the dispersion of days around the rate of their own stratum.

    One entry a day; `stratum` numbers the period or group the day belongs to. Days
    with nothing judged are left out. Pearson's chi-square of each stratum's 2 x days
    table is summed. Its mean N (D - 1) / (N - 1) and its variance given the margins
    are exact, however few anchors a day has (factorial moments of the multivariate
    hypergeometric distribution). p from the gamma distribution of these two.
    """
    known = judged > 0
    x, n = nonconforming[known].astype(np.float64), judged[known].astype(np.float64)
    _, number = np.unique(stratum[known], return_inverse=True)
    chi_square, mean, variance, days = table_moments(x, n, number)
    if mean.sum() == 0 or variance.sum() <= 0:
        return Dispersion(1.0, 1.0, 0)
    shape = mean.sum() ** 2 / variance.sum()
    scale = variance.sum() / mean.sum()
    p_value = float(special.gammaincc(shape, chi_square.sum() / scale))
    return Dispersion(
        float(chi_square.sum() / mean.sum()), p_value, int(days[mean > 0].sum())
    )


def table_moments(
    x: Floats, n: Floats, number: Counts
) -> tuple[Floats, Floats, Floats, Floats]:
    """Return chi-square, its mean and variance, and the days, of each stratum.

    0 for a stratum in which nothing can vary: one day, fewer than four anchors, or
    none or all nonconforming. All n are above 0; `number` counts strata from 0.

    With p_k = found (found - 1) ... / total (total - 1) ..., k factors each (the
    chance that k given anchors are all nonconforming), E x^(k) = n^(k) p_k for falling
    factorials, within and across days; so the variance of sum x^2 / n follows.
    """

    def over_days(values: Floats) -> Floats:
        return np.bincount(number, values).astype(np.float64)

    days, total, found = over_days(np.ones(len(n))), over_days(n), over_days(x)
    varies = (days > 1) & (total > 3) & (found > 0) & (found < total)
    safe = np.where(varies, total, 5.0)
    held = np.where(varies, found, 1.0)
    p_1, p_2, p_3, p_4 = np.cumprod([(held - k) / (safe - k) for k in range(4)], axis=0)
    apart, apart_2 = over_days(n - 1), over_days((n - 1) ** 2)
    same_day = (
        over_days((n - 1) * (n - 2) * (n - 3) / n) * p_4
        + 6 * over_days((n - 1) * (n - 2) / n) * p_3
        + 7 * over_days((n - 1) / n) * p_2
        + over_days(1 / n) * p_1
    )
    two_days = (
        (apart**2 - apart_2) * p_4
        + 2 * (days - 1) * apart * p_3
        + days * (days - 1) * p_2
    )
    mean_sum = apart * p_2 + days * p_1
    variance = same_day + two_days - mean_sum**2
    to_chi_square = safe**2 / (held * (safe - held))
    chi_square = (over_days(x**2 / n) - held**2 / safe) * to_chi_square
    return (
        np.where(varies, chi_square, 0.0),
        np.where(varies, safe * (days - 1) / (safe - 1), 0.0),
        np.where(varies, variance * to_chi_square**2, 0.0),
        days,
    )
