"""Shewhart's p chart with limits for each period, and Laney's p′ chart."""

import numpy as np
from numpy.typing import NDArray

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

SIGMAS = 3.0
# Mean range of two standard normal values (any quality text: d2 for n = 2).
MEAN_RANGE_OF_TWO = 1.128


def standard_error(judged: Counts, centre: float) -> Floats:
    """Return sqrt(p (1 - p) / n) for each period, NaN where nothing was judged."""
    n = np.where(judged > 0, judged, np.nan)
    return np.asarray(np.sqrt(centre * (1 - centre) / n), dtype=np.float64)


def p_limits(
    judged: Counts, centre: float, sigma_z: float = 1.0
) -> tuple[Floats, Floats]:
    """Return lower and upper limit (fractions) of each period, NaN where idle.

    centre ± 3 sigma_z sqrt(p (1 - p) / n), held to 0 and 1. With sigma_z = 1 Shewhart's
    p chart (ISO 7870-2; NIST/SEMATECH e-Handbook 6.3.3.2), else Laney's p′ chart
    (Laney 2002, Quality Engineering 14:531-537).
    """
    width = SIGMAS * sigma_z * standard_error(judged, centre)
    return np.maximum(centre - width, 0.0), np.minimum(centre + width, 1.0)


def z_scores(nonconforming: Counts, judged: Counts, centre: float) -> Floats:
    """Return (rate - centre) / standard error of each period, NaN where undefined."""
    rate = nonconforming / np.where(judged > 0, judged, np.nan)
    error = standard_error(judged, centre)
    return np.asarray((rate - centre) / np.where(error > 0, error, np.nan))


def laney_sigma_z(nonconforming: Counts, judged: Counts, centre: float) -> float:
    """Return the spread of the periods' z-scores, 1 where it is that of a binomial.

    Mean moving range of the z-scores of neighbouring periods / 1.128 (Laney 2002).
    Idle periods are stepped over. NaN for fewer than two periods.
    """
    z = z_scores(nonconforming, judged, centre)
    z = z[~np.isnan(z)]
    if len(z) < 2:
        return float("nan")
    return float(np.mean(np.abs(np.diff(z))) / MEAN_RANGE_OF_TWO)
