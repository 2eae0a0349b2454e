"""Variation within a batch held against that of the peers' batches."""

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]

# Fewer peers' batches than this do not tell how far variances differ by themselves.
FEWEST_PEERS = 10
# The median absolute deviation of a normal distribution in standard deviations.
MAD_OF_NORMAL = 0.6744897501960817


def fit_spread(variance: Floats, freedom: Floats) -> tuple[float, float]:
    """Return (usual variance, freedom of it) of batches' variances.

    Variances are taken as usual x F(freedom, freedom of it): Smyth 2004 (Stat. Appl.
    Genet. Mol. Biol. 3:3, section 6.2), moments of the logarithm, with median and
    median absolute deviation for mean and standard deviation, so that a few batches
    without any variation do not widen what is usual. Infinity: no batch differs.
    """
    return _fit_logs(*_log_moments(variance, freedom))


def _log_moments(variance: Floats, freedom: Floats) -> tuple[Floats, Floats]:
    """Return unbiased logarithms of variances, and the variances of these by chance."""
    half = freedom / 2
    _, first, place = np.unique(half, return_index=True, return_inverse=True)
    # Of each freedom once: there are as many batches as days, and few freedoms.
    bias = (special.psi(half[first]) - np.log(half[first]))[place]
    return np.log(variance) - bias, special.zeta(2, half[first])[place]


def _fit_logs(logs: Floats, by_chance: Floats) -> tuple[float, float]:
    middle = float(np.median(logs))
    deviation = float(np.median(np.abs(logs - middle))) / MAD_OF_NORMAL
    beyond = deviation**2 - float(np.median(by_chance))
    if beyond <= 1e-6:
        return float(np.exp(middle)), float("inf")
    half = _trigamma_inverse(beyond)
    usual = middle + float(special.psi(half)) - float(np.log(half))
    return float(np.exp(usual)), 2 * half


def _trigamma_inverse(value: float) -> float:
    """Return x with trigamma(x) = value, by Newton (Smyth 2004, appendix)."""
    x = 0.5 + 1 / value
    for _ in range(50):
        trigamma = float(special.zeta(2, x))
        step = trigamma * (1 - trigamma / value) / (-2 * float(special.zeta(3, x)))
        x += step
        if abs(step) < 1e-9 * x:
            break
    return x


def too_alike(
    variance: Floats, freedom: Counts, floor: Floats, site: Counts, crew: Counts
) -> tuple[Floats, Floats]:
    """Return each batch's chance of so little variation, and the variance usual there.

    One entry a batch: `variance` over `freedom`, `floor` what rounding to the gauge's
    step adds, so that peers who all read one mark are no less alike. Peers: batches of
    the site's other crews; NaN where there are fewer than ten.
    """
    v, df = variance + floor, freedom.astype(np.float64)
    chance, usual = np.full(len(v), np.nan), np.full(len(v), np.nan)
    logs, by_chance = _log_moments(v, df)
    order = np.argsort(site, kind="stable")
    for at_site in np.split(order, np.flatnonzero(np.diff(site[order])) + 1):
        for one in np.unique(crew[at_site]):
            is_own = crew[at_site] == one
            own, peers = at_site[is_own], at_site[~is_own]
            if len(peers) < FEWEST_PEERS:
                continue
            usual[own], known = _fit_logs(logs[peers], by_chance[peers])
            ratio = v[own] / usual[own]
            chance[own] = (
                special.chdtr(df[own], df[own] * ratio)
                if np.isinf(known)
                else special.fdtr(df[own], known, ratio)
            )
    return chance, usual
