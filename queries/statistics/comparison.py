"""Sites or crews side by side, each against all the others and never itself."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.dispersion import day_dispersion
from queries.statistics.exact import (
    clean_checks_needed,
    garwood_limits,
    mid_p_share,
    mid_p_strata,
)
from queries.statistics.mix import (
    comparable_judged,
    expected_from_others,
    split_difference,
)
from queries.statistics.multiple import benjamini_hochberg
from queries.statistics.shrinkage import (
    BetaBinomial,
    fit_beta_binomial,
    rank_intervals,
    rate_intervals,
    shrunk_rates,
)

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

FLAGGED_AT = 0.05
POWER = 0.80
# A rate that a meeting would mind (project default).
RATE_TO_RULE_OUT = 0.05
# Exact strata above this many nonconforming cost more than they differ.
EXACT_UP_TO = 500


@dataclass(frozen=True)
class Cells:
    """Counts by group (row) and cell of size, drill method and orientation (column)."""

    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class GroupDays:
    """Counts by day of a group; `group` is the row of Cells."""

    group: Counts
    judged: Counts
    nonconforming: Counts


@dataclass(frozen=True)
class Comparison:
    """One entry a group; rates and parts are fractions, NaN where undefined.

    `expected`: nonconforming at the others' rates, for the group's own mix; `ratio`
    observed / expected in the same cells, with its 95 % limits. `p_value` (two-sided)
    and `q_value` ask whether the group does its own mix as the others do it; `flagged`
    where it does worse, q at most 5 %. `variation`: the variance of the comparison
    over that of independent anchors. `eb_rate`: expected true rate at the average
    mix, with its 95 % interval. `detectable_rate`: the true rate that would be flagged
    8 times of 10.
    `correlation` of two anchors of one day, seen in so many `days`.
    `more_clean_checks`: how many more, all conforming, would rule out 5 %, where less
    was found.
    """

    expected: Floats
    ratio: Floats
    ratio_low: Floats
    ratio_high: Floats
    others_rate: Floats
    p_value: Floats
    q_value: Floats
    flagged: NDArray[np.bool_]
    eb_rate: Floats
    eb_low: Floats
    eb_high: Floats
    rank_low: Floats
    rank_high: Floats
    mix_part: Floats
    performance_part: Floats
    detectable_rate: Floats
    silent_judged: Floats
    variation: Floats
    more_clean_checks: Floats
    correlation: float
    days: int
    is_exact: bool
    spread: BetaBinomial | None


def compare(cells: Cells, days: GroupDays) -> Comparison:
    """Return the comparison of all groups; those with nothing judged get NaN."""
    judged, found = cells.judged.sum(axis=1), cells.nonconforming.sum(axis=1)
    correlation = day_correlation(days.nonconforming, days.judged, days.group)
    inflation = design_effects(days.judged, days.group, len(judged), correlation)
    variation = _variation(judged, inflation)
    p_value = _p_values(cells, variation)
    q_value = benjamini_hochberg(p_value)
    expected = expected_from_others(cells.judged, cells.nonconforming)
    is_worse = expected.observed > expected.count
    low, high = garwood_limits(expected.observed / inflation)
    split = split_difference(cells.judged, cells.nonconforming)
    shrunk = _shrunk(cells, inflation)
    others = _ratio(found.sum() - found, judged.sum() - judged)
    return Comparison(
        expected=np.where(judged > expected.silent_judged, expected.count, np.nan),
        ratio=_ratio(expected.observed, expected.count),
        ratio_low=_ratio(low * inflation, expected.count),
        ratio_high=_ratio(high * inflation, expected.count),
        others_rate=others,
        p_value=p_value,
        q_value=q_value,
        flagged=(q_value <= FLAGGED_AT) & is_worse,
        eb_rate=shrunk.rate,
        eb_low=shrunk.low,
        eb_high=shrunk.high,
        rank_low=shrunk.rank_low,
        rank_high=shrunk.rank_high,
        mix_part=split.mix,
        performance_part=split.performance,
        detectable_rate=np.where(
            np.isnan(p_value), np.nan, _detectable(judged, others, inflation)
        ),
        silent_judged=expected.silent_judged,
        variation=variation,
        more_clean_checks=_clean(found, judged, inflation),
        correlation=correlation,
        days=day_dispersion(days.nonconforming, days.judged, days.group).days,
        is_exact=correlation == 0 and found.sum() <= EXACT_UP_TO,
        spread=shrunk.spread,
    )


def _ratio(top: NDArray[np.generic], bottom: NDArray[np.generic]) -> Floats:
    empty = np.full(len(top), np.nan)
    return np.asarray(np.divide(top, bottom, out=empty, where=np.asarray(bottom) > 0))


def _variation(judged: Counts, inflation: Floats) -> Floats:
    """Return the variance of group less others over that of independent anchors."""
    total = judged.sum()
    others = total - judged
    # The others' own inflation: that of each, by its share of their anchors.
    weighted = judged * inflation
    of_others = _ratio(weighted.sum() - weighted, others)
    of_others = np.where(np.isnan(of_others), 1.0, of_others)
    return np.asarray((inflation * others + of_others * judged) / max(total, 1))


@dataclass(frozen=True)
class Moments:
    """Each group's count given what every cell holds in all, over `mixed` cells.

    A cell is mixed where it can tell something: the group and others are in it, and
    some but not all of it is nonconforming.
    """

    mixed: NDArray[np.bool_]
    observed: Floats
    mean: Floats
    variance: Floats
    events: Floats


def strata_moments(cells: Cells) -> Moments:
    """Return the moments of Mantel and Haenszel 1959 (J. Natl. Cancer Inst. 22:719).

    Sums over mixed cells of n X / N, and of the hypergeometric variances
    n (N - n) X (N - X) / (N^2 (N - 1)).
    """
    n, x = cells.judged, cells.nonconforming
    total, found = n.sum(axis=0), x.sum(axis=0)
    mixed = (n > 0) & (n < total) & (found > 0) & (found < total)
    safe = np.maximum(total, 2)
    variance = n / safe * (total - n) / safe * found * ((total - found) / (safe - 1))

    def over_mixed(values: NDArray[np.generic]) -> Floats:
        return np.asarray(np.where(mixed, values, 0).sum(axis=1), dtype=np.float64)

    return Moments(
        mixed=mixed,
        observed=over_mixed(x),
        mean=over_mixed(n * found / safe),
        variance=over_mixed(variance),
        events=over_mixed(np.broadcast_to(found, n.shape)),
    )


def _p_values(cells: Cells, variation: Floats) -> Floats:
    """Return two-sided mid-p of each group within cells; NaN where nothing compares.

    Exact where there is no extra variation and not too many counts. Else counts are
    divided so that the mean and variance (times `variation`) of a binomial share
    agree, and its mid-p is taken.
    """
    given = strata_moments(cells)
    share = np.divide(
        given.mean, given.events, out=0 * given.mean, where=given.events > 0
    )
    spread = given.events * share * (1 - share)
    scale = np.divide(
        variation * given.variance, spread, out=0 * spread + 1, where=spread > 0
    )
    scale = np.where(scale > 0, scale, 1.0)
    p_value = mid_p_share(given.observed / scale, given.events / scale, share)
    total, found = cells.judged.sum(axis=0), cells.nonconforming.sum(axis=0)
    if np.allclose(variation, 1.0) and found.sum() <= EXACT_UP_TO:
        for group in np.flatnonzero(given.mixed.any(axis=1)):
            here = given.mixed[group]
            p_value[group] = mid_p_strata(
                int(given.observed[group]),
                cells.judged[group, here],
                found[here],
                total[here],
            )
    comparable = ((cells.judged > 0) & (cells.judged < total)).any(axis=1)
    return np.where(comparable, p_value, np.nan)


@dataclass(frozen=True)
class Shrunk:
    """Probable true rates with their 95 % intervals and places; NaN where unjudged."""

    spread: BetaBinomial | None
    rate: Floats
    low: Floats
    high: Floats
    rank_low: Floats
    rank_high: Floats


def _shrunk(cells: Cells, inflation: Floats) -> Shrunk:
    """Return each group's probable rate at the average mix.

    Counts are divided by their inflation first: anchors of a bad day count for less.
    """
    x = cells.nonconforming.sum(axis=1) / inflation
    n = comparable_judged(cells.judged, cells.nonconforming) / inflation
    here = n > 0

    def spread_out(values: NDArray[np.generic] | float) -> Floats:
        filled = np.full(len(n), np.nan)
        filled[here] = values
        return filled

    if not 0 < x.sum() < n.sum():
        plain = spread_out(x[here] / n[here])
        last = float(here.sum())
        return Shrunk(None, plain, plain, plain, spread_out(1.0), spread_out(last))
    x, n_here = x[here], n[here]
    spread = fit_beta_binomial(x, n_here)
    low, high = rate_intervals(x, n_here, spread)
    first, last_place = rank_intervals(x, n_here, spread)
    return Shrunk(
        spread=spread,
        rate=spread_out(shrunk_rates(x, n_here, spread)),
        low=spread_out(low),
        high=spread_out(high),
        rank_low=spread_out(first),
        rank_high=spread_out(last_place),
    )


def _detectable(judged: Counts, others_rate: Floats, inflation: Floats) -> Floats:
    """Return the smallest true rate that would be flagged with 80 % chance.

    Normal sample-size formula for two proportions (as NIST/SEMATECH e-Handbook
    7.2.4.2, with unequal groups), two-sided at 5 % divided by the groups: what
    Benjamini-Hochberg asks of the first. NaN where not even a rate of 1 would be, or
    nothing compares. Bisection over the rate.
    """
    groups = max(int((judged > 0).sum()), 1)
    at = special.ndtri(1 - FLAGGED_AT / groups / 2)
    reach = special.ndtri(POWER)
    total = judged.sum()
    safe = np.maximum(judged, 1)
    own = inflation / safe
    other = _ratio(np.full(len(judged), inflation.mean()), total - judged)
    p_0 = others_rate

    def is_seen(rate: Floats) -> NDArray[np.bool_]:
        pooled = (rate * judged + p_0 * (total - judged)) / max(total, 1)
        null = np.sqrt(pooled * (1 - pooled) * (own + other))
        true = np.sqrt(rate * (1 - rate) * own + p_0 * (1 - p_0) * other)
        return np.asarray(rate - p_0 >= at * null + reach * true)

    low, high = p_0.copy(), np.ones(len(judged))
    is_possible = is_seen(high) & (judged > 0)
    for _ in range(40):
        middle = (low + high) / 2
        seen = is_seen(middle)
        low, high = np.where(seen, low, middle), np.where(seen, middle, high)
    return np.where(is_possible, high, np.nan)


def _clean(found: Counts, judged: Counts, inflation: Floats) -> Floats:
    """Return how many more clean checks would rule out 5 %; bad days ask for more.

    NaN where the rate found is not below it. Counts are divided by the inflation, the
    answer multiplied.
    """
    more = np.full(len(judged), np.nan)
    for group in np.flatnonzero(found <= RATE_TO_RULE_OUT * judged):
        times = float(inflation[group])
        known = int(np.floor(judged[group] / times))
        bad = min(int(np.ceil(found[group] / times)), known)
        more[group] = np.ceil(times * clean_checks_needed(bad, known, RATE_TO_RULE_OUT))
    return more
