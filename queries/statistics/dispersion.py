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
    chi_square = mean = variance = 0.0
    days = 0
    for number in np.unique(stratum):
        here = (stratum == number) & (judged > 0)
        moments = _moments(nonconforming[here], judged[here])
        if moments is None:
            continue
        chi_square += moments[0]
        mean += moments[1]
        variance += moments[2]
        days += int(here.sum())
    if mean == 0 or variance <= 0:
        return Dispersion(1.0, 1.0, 0)
    shape, scale = mean**2 / variance, variance / mean
    p_value = float(special.gammaincc(shape, chi_square / scale))
    return Dispersion(chi_square / mean, p_value, days)


def _moments(x: Counts, n: Counts) -> tuple[float, float, float] | None:
    """Return chi-square, its mean and its variance; None where nothing can vary."""
    total, found, days = int(n.sum()), int(x.sum()), len(n)
    if days < 2 or total < 4 or found in (0, total):
        return None
    rate = found / total
    chi_square = float(np.sum((x - n * rate) ** 2 / (n * rate * (1 - rate))))
    variance = _variance(n, total, found) * (total / (found * (1 - rate))) ** 2
    return chi_square, total * (days - 1) / (total - 1), variance


def _variance(n: Counts, total: int, found: int) -> float:
    """Return the variance of sum(x^2 / n) over the days, given the margins.

    p_k = found (found - 1) ... / total (total - 1) ..., k factors each: the chance
    that k given anchors are all nonconforming.
    """
    days = len(n)
    chances = np.cumprod([(found - k) / (total - k) for k in range(4)])
    p_1, p_2, p_3, p_4 = map(float, chances)
    m = n.astype(np.float64)
    apart = m - 1
    same_day = (
        apart * (m - 2) * (m - 3) * p_4
        + 6 * apart * (m - 2) * p_3
        + 7 * apart * p_2
        + p_1
    ) / m
    two_days = (
        (apart.sum() ** 2 - (apart**2).sum()) * p_4
        + 2 * (days - 1) * apart.sum() * p_3
        + days * (days - 1) * p_2
    )
    mean = apart.sum() * p_2 + days * p_1
    return float(same_day.sum() + two_days - mean**2)
