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
    sums = sum_days(nonconforming, judged, stratum)
    chi_square, mean, variance = table_moments(sums)
    if mean.sum() == 0 or variance.sum() <= 0:
        return Dispersion(1.0, 1.0, 0)
    p_value = float(excess_p(chi_square, mean, variance))
    days = int(sums.days[mean > 0].sum())
    return Dispersion(float(chi_square.sum() / mean.sum()), p_value, days)


def excess_p(chi_square: Floats, mean: Floats, variance: Floats) -> Floats:
    """Return the chance of so much variation or more, strata along the last axis.

    1 where nothing can vary.
    """
    expected, spread = mean.sum(axis=-1), variance.sum(axis=-1)
    can_vary = (expected > 0) & (spread > 0)
    expected, spread = (
        np.where(can_vary, expected, 1.0),
        np.where(can_vary, spread, 1.0),
    )
    tail = special.gammaincc(
        expected**2 / spread, chi_square.sum(axis=-1) * expected / spread
    )
    return np.asarray(np.where(can_vary, tail, 1.0))


@dataclass(frozen=True)
class DaySums:
    """Sums over the days of each stratum, along the last axis.

    `n` judged, `x` nonconforming of a day; days with nothing judged are in none.
    """

    days: Floats
    n: Floats
    x: Floats
    n_n: Floats
    n_x: Floats
    x_x: Floats
    one_by_n: Floats
    x_x_by_n: Floats


def day_terms(nonconforming: Counts, judged: Counts) -> Floats:
    """Return what DaySums sums, a row a field and a column a day; all judged > 0."""
    x, n = nonconforming.astype(np.float64), judged.astype(np.float64)
    return np.array([np.ones(len(n)), n, x, n * n, n * x, x * x, 1 / n, x * x / n])


def sum_days(
    nonconforming: Counts, judged: Counts, stratum: Counts, strata: int = 0
) -> DaySums:
    """Return the sums of each stratum; `stratum` counts from 0 (at least `strata`)."""
    known = judged > 0
    terms = day_terms(nonconforming[known], judged[known])
    number = stratum[known]
    return DaySums(
        *(np.bincount(number, term, strata).astype(np.float64) for term in terms)
    )


def table_moments(sums: DaySums) -> tuple[Floats, Floats, Floats]:
    """Return chi-square, its mean and its variance of each stratum.

    0 for a stratum in which nothing can vary: one day, fewer than four anchors, or
    none or all nonconforming.

    With p_k = found (found - 1) ... / total (total - 1) ..., k factors each (the
    chance that k given anchors are all nonconforming), E x^(k) = n^(k) p_k for falling
    factorials, within and across days; so the variance of sum x^2 / n follows.
    """
    days, total, found = sums.days, sums.n, sums.x
    varies = (days > 1) & (total > 3) & (found > 0) & (found < total)
    safe = np.where(varies, total, 5.0)
    held = np.where(varies, found, 1.0)
    p_1, p_2, p_3, p_4 = np.cumprod([(held - k) / (safe - k) for k in range(4)], axis=0)
    # Sums of n - 1, (n - 1)^2, (n - 1)(n - 2)(n - 3) / n and so on, multiplied out.
    apart, apart_2 = total - days, sums.n_n - 2 * total + days
    same_day = (
        (sums.n_n - 6 * total + 11 * days - 6 * sums.one_by_n) * p_4
        + 6 * (total - 3 * days + 2 * sums.one_by_n) * p_3
        + 7 * (days - sums.one_by_n) * p_2
        + sums.one_by_n * p_1
    )
    two_days = (
        (apart**2 - apart_2) * p_4
        + 2 * (days - 1) * apart * p_3
        + days * (days - 1) * p_2
    )
    mean_sum = apart * p_2 + days * p_1
    variance = same_day + two_days - mean_sum**2
    to_chi_square = safe**2 / (held * (safe - held))
    chi_square = (sums.x_x_by_n - held**2 / safe) * to_chi_square
    return (
        np.where(varies, chi_square, 0.0),
        np.where(varies, safe * (days - 1) / (safe - 1), 0.0),
        np.where(varies, variance * to_chi_square**2, 0.0),
    )
