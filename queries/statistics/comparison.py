"""Sites or crews side by side, each against all the others and never itself."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from queries.statistics.dispersion import day_dispersion
from queries.statistics.exact import (
    clean_checks_needed,
    garwood_limits,
    upper_limit_of_none,
)
from queries.statistics.flagging import (
    EXACT_UP_TO,
    Cells,
    GroupDays,
    Weighed,
    others_inflation,
    ratio_of,
    tells_days,
    weigh,
)
from queries.statistics.mix import (
    Alone,
    ComparableWork,
    expected_from_others,
    split_difference,
    told_apart,
)
from queries.statistics.power import like_work, rate_seen
from queries.statistics.spread_posterior import SpreadPosterior, spread_posterior

Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

# A rate that a meeting would mind (project default).
RATE_TO_RULE_OUT = 0.05


@dataclass(frozen=True)
class Comparison:
    """One entry a group; rates and parts are fractions, NaN where undefined.

    `expected`: nonconforming at the others' rates, for the group's own mix; `ratio`
    observed / expected in the same cells, with its 95 % limits. `p_value` (two-sided)
    and `q_value` ask whether the group does its own mix as the others do it; `flagged`
    where it `is_worse`, q at most 5 %; q is over the groups that `can_tell` (q_values
    of flagging.py). `variation`: the variance of the comparison over that of
    independent anchors. `eb_rate`: expected true rate at the average mix, by the work
    that others did too, with its 95 % interval; NaN where there is no such work, or all
    or nothing is nonconforming, which says nothing of how rates spread. `mix_part` and
    `performance_part` make the difference from `others_rate`, NaN where they cannot be
    told apart. `detectable_rate`: the true rate that would be flagged 8 times of 10, in
    work that others did too.
    `silent_judged`, `silent_nonconforming`: what it did in cells in which no other has
    anything, which is neither in `expected` nor in the ratio.
    `correlation` of two anchors of one day, seen in so many `days`; `has_days`: as
    tells_days says.
    `more_clean_checks`: how many more, all conforming, would rule out 5 %, where less
    was found; `clean_up_to`: the true rate that none found leaves open (95 %,
    one-sided). Both allow for bad days.
    What no flag rests on is weighed when it is first asked for: it takes longer than
    the flags, and who looks for what is out of line does not ask.
    """

    cells: Cells
    inflation: Floats
    expected: Floats
    ratio: Floats
    ratio_low: Floats
    ratio_high: Floats
    others_rate: Floats
    p_value: Floats
    q_value: Floats
    flagged: NDArray[np.bool_]
    is_worse: NDArray[np.bool_]
    can_tell: NDArray[np.bool_]
    has_days: bool
    mix_part: Floats
    performance_part: Floats
    comparable_judged: Counts
    comparable_nonconforming: Counts
    difficulty: Floats
    difficulty_variance: Floats
    variation: Floats
    correlation: float
    days: int
    is_exact: bool

    @cached_property
    def probable(self) -> "Probable":
        """Return the probable true rates."""
        return probable_rates(work_of(self), self.inflation)

    @property
    def silent_judged(self) -> Counts:
        """Return what each judged in cells in which no other has anything."""
        return np.asarray(self.cells.judged.sum(axis=1) - self.comparable_judged)

    @property
    def silent_nonconforming(self) -> Counts:
        """Return what each found in cells in which no other has anything."""
        found = self.cells.nonconforming.sum(axis=1)
        return np.asarray(found - self.comparable_nonconforming)

    @property
    def eb_rate(self) -> Floats:
        """Return the expected true rates at the average mix."""
        return self.probable.rate

    @property
    def eb_low(self) -> Floats:
        """Return the lower ends of the true rates' 95 % intervals."""
        return self.probable.low

    @property
    def eb_high(self) -> Floats:
        """Return the upper ends of the true rates' 95 % intervals."""
        return self.probable.high

    @cached_property
    def _rank_ends(self) -> tuple[Floats, Floats]:
        return _ranks(self.probable)

    @property
    def rank_low(self) -> Floats:
        """Return the first place that a group may have, 1 the highest rate."""
        return self._rank_ends[0]

    @property
    def rank_high(self) -> Floats:
        """Return the last place that a group may have, 1 the highest rate."""
        return self._rank_ends[1]

    @cached_property
    def detectable_rate(self) -> Floats:
        """Return the true rates that would be flagged 8 times of 10."""
        judged = self.cells.judged.sum(axis=1)
        n, x = self.cells.judged, self.cells.nonconforming
        like = like_work(n, n.sum(axis=0) - n, x.sum(axis=0) - x)
        rate = rate_seen(
            like.judged / self.inflation,
            like.others / others_inflation(judged, self.inflation),
            like.others_rate,
            looks=max(int((judged > 0).sum()), 1),
        )
        return np.where(np.isnan(self.p_value), np.nan, rate)

    @cached_property
    def more_clean_checks(self) -> Floats:
        """Return how many more clean checks would rule out 5 %."""
        judged = self.cells.judged.sum(axis=1)
        return _clean(self.cells.nonconforming.sum(axis=1), judged, self.inflation)

    @cached_property
    def clean_up_to(self) -> Floats:
        """Return the true rates that groups without a find leave open."""
        worth = self.cells.judged.sum(axis=1) / self.inflation
        open_to = np.array([upper_limit_of_none(float(one)) for one in worth])
        is_clean = (worth > 0) & (self.cells.nonconforming.sum(axis=1) == 0)
        return np.where(is_clean, open_to, np.nan)


def compare(cells: Cells, days: GroupDays) -> Comparison:
    """Return the comparison of all groups; those with nothing judged get NaN."""
    judged, found = cells.judged.sum(axis=1), cells.nonconforming.sum(axis=1)
    weighed = weigh(cells, days)
    inflation = weighed.inflation
    expected = expected_from_others(cells.judged, cells.nonconforming)
    low, high = garwood_limits(expected.observed / inflation)
    alone = Alone(
        judged - weighed.comparable_judged, found - weighed.comparable_nonconforming
    )
    split = told_apart(
        split_difference(cells.judged, cells.nonconforming), cells.judged, alone
    )
    return Comparison(
        cells=cells,
        inflation=inflation,
        expected=np.where(judged > alone.judged, expected.count, np.nan),
        ratio=ratio_of(expected.observed, expected.count),
        ratio_low=ratio_of(low * inflation, expected.count),
        ratio_high=ratio_of(high * inflation, expected.count),
        others_rate=ratio_of(found.sum() - found, judged.sum() - judged),
        p_value=weighed.p_value,
        q_value=weighed.q_value,
        flagged=weighed.flagged,
        is_worse=weighed.is_worse,
        can_tell=weighed.can_tell,
        has_days=tells_days(days),
        mix_part=split.mix,
        performance_part=split.performance,
        comparable_judged=weighed.comparable_judged,
        comparable_nonconforming=weighed.comparable_nonconforming,
        difficulty=weighed.difficulty,
        difficulty_variance=weighed.difficulty_variance,
        variation=weighed.variation,
        correlation=weighed.correlation,
        days=day_dispersion(days.nonconforming, days.judged, days.group).days,
        is_exact=weighed.correlation == 0 and found.sum() <= EXACT_UP_TO,
    )


def work_of(weighed: Weighed | Comparison) -> ComparableWork:
    """Return the work of the groups that their others did too."""
    return ComparableWork(
        weighed.comparable_judged,
        weighed.comparable_nonconforming,
        weighed.difficulty,
        weighed.difficulty_variance,
    )


@dataclass(frozen=True)
class Probable:
    """Probable true rates with their 95 % intervals; NaN where nothing compares.

    `x` of `n`: each group's counts at the average mix, divided by their inflation.
    `difficulty`: how hard the group's own mix is, the average mix being 1; a rate times
    this is the rate at the own mix.
    `posterior` of the true rates' spread: None where all or nothing is nonconforming,
    which says nothing of it; rates are then NaN.
    """

    posterior: SpreadPosterior | None
    rate: Floats
    low: Floats
    high: Floats
    x: Floats
    n: Floats
    difficulty: Floats


def probable_rates(work: ComparableWork, inflation: Floats) -> Probable:
    """Return each group's probable rate at the average mix (hierarchical Bayes).

    Counts are divided by their inflation first: anchors of a bad day count for less.
    They are divided again so that the relative variance 1 / x of a count becomes
    1 / x + that of the difficulty, which is known from the others' counts only: of hard
    work that others did five times, a rate says little of the average mix.
    """
    judged, found = work.judged, work.nonconforming
    # An easy mix takes a rate down to no fewer anchors than are nonconforming.
    worth = np.maximum(judged * work.difficulty, found)
    spread = work.difficulty_variance * others_inflation(judged, inflation)
    times = inflation * (1 + found / inflation * spread)
    x, n = found / times, worth / times
    difficulty = np.divide(worth, judged, out=np.ones(len(n)), where=judged > 0)
    here = n > 0
    # In whole numbers too: the mix of what all fails makes it one but for rounding.
    if not (0 < found.sum() < judged.sum() and x.sum() < n.sum()):
        unknown = np.full(len(n), np.nan)
        return Probable(None, unknown, unknown, unknown, x, n, difficulty)
    posterior = spread_posterior(x[here], n[here])
    low, high = posterior.rate_intervals(x[here], n[here])
    rate = posterior.rates(x[here], n[here])
    return Probable(
        posterior,
        _spread_out(rate, here),
        _spread_out(low, here),
        _spread_out(high, here),
        x,
        n,
        difficulty,
    )


def _spread_out(values: NDArray[np.generic] | float, here: NDArray[np.bool_]) -> Floats:
    filled = np.full(len(here), np.nan)
    filled[here] = values
    return filled


def _ranks(probable: Probable) -> tuple[Floats, Floats]:
    """Return the 95 % interval of each group's place, 1 the highest rate."""
    here = probable.n > 0
    if probable.posterior is None:
        return _spread_out(1.0, here), _spread_out(float(here.sum()), here)
    first, last = probable.posterior.rank_intervals(probable.x[here], probable.n[here])
    return _spread_out(first, here), _spread_out(last, here)


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
