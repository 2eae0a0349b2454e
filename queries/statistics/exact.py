"""Exact limits and tail chances of counts."""

import numpy as np
from numpy.typing import NDArray
from scipy import special

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


def garwood_limits(count: Floats, confidence: float = 0.95) -> tuple[Floats, Floats]:
    """Return the exact limits of a Poisson mean (Garwood 1936, Biometrika 28:437).

    Halves of chi-square quantiles with 2 x and 2 x + 2 degrees of freedom; also for
    counts that were divided by an extra variation.
    """
    tail = (1 - confidence) / 2
    x = np.asarray(count, dtype=np.float64)
    low = np.where(x > 0, special.gammaincinv(np.maximum(x, 1e-300), tail), 0.0)
    return low, np.asarray(special.gammaincinv(x + 1, 1 - tail))


def funnel_limits(
    expected: Floats, variation: float | Floats, confidence: float
) -> tuple[Floats, Floats]:
    """Return between which observed / expected lies where only chance is at work.

    `variation` is of all, or of each.

    The counts that a Poisson variable exceeds, or falls short of, with at most half of
    1 - confidence each, divided by the expected (a funnel for ratios: Spiegelhalter
    2005, Stat. Med. 24:1185), once `variation`, the allowance for bad days (1 is
    none), has been divided out of it. In steps, as counts are.
    """
    tail = (1 - confidence) / 2
    left = np.asarray(expected, dtype=np.float64) / variation
    # pdtrik inverts the distribution function, which begins with a step at 0.
    short = np.where(np.exp(-left) > tail, -1.0, np.floor(special.pdtrik(tail, left)))
    high = np.ceil(special.pdtrik(1 - tail, left))
    return (short + 1) / left, high / left


def others_variation(expected: Floats, found: float) -> Floats:
    """Return by how much more a group varies beside others that vary themselves.

    What is expected of a group rests on what the others found: of `found` in all they
    have about found - expected, so that the difference of the two varies by 1 +
    expected / (found - expected), the more the fewer others there are (2 for one alike
    in size). At most 10.
    """
    share = np.clip(expected / found, 0, 0.9) if found else np.full_like(expected, 0.9)
    return np.asarray(1 / (1 - share))


def upper_limit_of_none(judged: float, confidence: float = 0.95) -> float:
    """Return the largest rate that 0 of `judged` leaves open, one-sided.

    1 - (1 - confidence)^(1/n); near 3/n, the rule of three (Hanley and Lippman-Hand
    1983, JAMA 249:1743-1745). 1 where nothing was judged. `judged` need not be whole:
    anchors of bad days count for less.
    """
    return float(1 - (1 - confidence) ** (1 / judged)) if judged else 1.0


def clean_checks_needed(
    nonconforming: int, judged: int, rate: float, confidence: float = 0.95
) -> int:
    """Return how many more checks, all conforming, would rule out `rate`.

    The smallest m with P(X <= nonconforming of judged + m) <= 1 - confidence at that
    rate (binomial); with none nonconforming the success-run table: 59 checks for 5 %
    (Hahn and Meeker 1991). 0 where it is ruled out already. `rate` within (0, 1).
    """
    x, tail = nonconforming, 1 - confidence

    def is_enough(total: int) -> bool:
        return total > x and special.bdtr(x, total, rate) <= tail

    low, high = judged - 1, max(judged, 1)
    while not is_enough(high):
        low, high = high, 2 * high
    if is_enough(judged):
        return 0
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_enough(middle) else (middle, high)
    return high - judged


def mid_p_share(x: Floats, m: Floats, share: Floats) -> Floats:
    """Return the two-sided mid-p of x of m events where `share` is expected.

    Twice the smaller of P(X > x) + P(X = x) / 2 and P(X < x) + P(X = x) / 2, binomial;
    x and m need not be whole (incomplete beta function). 1 where m is 0.
    """
    x, m = np.minimum(x, m), np.asarray(m, dtype=np.float64)
    tiny = 1e-12
    at_least = np.where(
        x <= 0, 1.0, special.betainc(np.maximum(x, tiny), m - x + 1, share)
    )
    more = np.where(m - x <= tiny, 0.0, _tail(x + 1, np.maximum(m - x, tiny), share))
    upper = (at_least + more) / 2
    return np.where(m > 0, np.minimum(2 * np.minimum(upper, 1 - upper), 1.0), 1.0)


def _tail(a: Floats, b: Floats, share: Floats) -> Floats:
    return np.asarray(special.betainc(a, b, share))


def mid_p_strata(x: int, taken: Counts, found: Counts, total: Counts) -> float:
    """Return the two-sided exact mid-p of x nonconforming in one group.

    A stratum (same size, method and orientation) holds `total` judged, `found` of them
    nonconforming and `taken` of them the group's. Given these the group's count is a
    sum of hypergeometric ones; with one stratum it is Fisher's test with mid-p
    (Lancaster 1961, J. Am. Stat. Assoc. 56:223-234).
    """
    least = np.maximum(0, taken + found - total)
    chances = np.ones(1)
    for one in _hypergeometric(least, taken, found, total):
        chances = np.convolve(chances, one)
    place = x - int(least.sum())
    half = chances[place] / 2
    upper = chances[place + 1 :].sum() + half
    lower = chances[:place].sum() + half
    return float(min(2 * min(upper, lower), 1.0))


def _hypergeometric(
    least: Counts, taken: Counts, found: Counts, total: Counts
) -> list[Floats]:
    """Return the chances of all possible counts of each stratum, from `least` on.

    From the ratio of neighbours, P(c) / P(c - 1) = (k - c + 1) (n - c + 1) /
    (c (N - k - n + c)) for n taken and k found of N; all strata in one go.
    """
    width = np.minimum(taken, found) - least + 1
    start = np.cumsum(width) - width
    c = np.arange(width.sum()) - np.repeat(start - least, width)
    n, k, size = (
        np.repeat(each, width).astype(float) for each in (taken, found, total)
    )
    bottom = c * (size - k - n + c)
    bottom[start] = 1.0
    ratio = (k - c + 1) * (n - c + 1) / bottom
    ratio[start] = 1.0
    logs = np.cumsum(np.log(ratio))
    chances = np.exp(logs - np.repeat(np.maximum.reduceat(logs, start), width))
    chances /= np.repeat(np.add.reduceat(chances, start), width)
    return np.split(chances, start[1:])
