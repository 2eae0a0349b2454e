"""Did a training work: what came after beside what would have come without it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from queries.statistics.outliers import ManyAndFew, fit_many_and_few

Floats = NDArray[np.float64]

DRAWS = 20_000
POWER = 0.80


@dataclass(frozen=True)
class BeforeAfter:
    """Nonconforming and judged of each crew before and after a day.

    Counts may be divided by the inflation of bad days beforehand, and need not be
    whole.
    """

    x_before: Floats
    n_before: Floats
    x_after: Floats
    n_after: Floats


@dataclass(frozen=True)
class TrainingEffect:
    """All rates are fractions.

    `probable_before`: the crew's empirical-Bayes rate; `trend`: the untreated crews'
    rate after / before; `expected` = their product; `difference` = `observed` -
    `expected` with its 95 % interval; `detectable_fall`: the fall that would have been
    seen 8 times of 10 (None: not even a fall to 0). `placebo_share`: the share of the
    `placebos` untreated crews that fell as far or further without any training.
    """

    probable_before: float
    trend: float
    expected: float
    observed: float
    difference: float
    low: float
    high: float
    detectable_fall: float | None
    placebos: int
    placebo_share: float | None


def training_effect(counts: BeforeAfter, crew: int, seed: int = 1) -> TrainingEffect:
    """Return the effect of a training of one crew; `crew` is its index.

    The crew was chosen because it looked bad, so that it would look better the next
    time by luck alone: its rate before is shrunk towards all crews' (empirical Bayes,
    unless it is plainly unlike them: queries/statistics/outliers.py), and moved by the
    trend of the crews that were not trained. Interval: quantiles of 20,000 draws of
    rate before (its posterior), trend and rate after (Jeffreys). Needs judged checks of
    the crew after the day, of the others before and after, and nonconforming and
    conforming ones before. ValueError otherwise.
    """
    others = np.arange(len(counts.x_before)) != crew
    _require(counts, crew, others)
    fitted = fit_many_and_few(counts.x_before, counts.n_before)
    before = fitted.rates(counts.x_before, counts.n_before)
    expected, (low, high) = draw_difference(
        counts, crew, others, fitted, np.random.default_rng(seed)
    )
    trend = _trend(counts, others)
    differences = _differences(counts, before, others)
    placebo = differences[others & (counts.n_before > 0) & (counts.n_after > 0)]
    observed = float(counts.x_after[crew] / counts.n_after[crew])
    point = min(float(before[crew]) * trend, 1.0)
    return TrainingEffect(
        probable_before=float(before[crew]),
        trend=trend,
        expected=point,
        observed=observed,
        difference=observed - point,
        low=low,
        high=high,
        detectable_fall=_detectable_fall(point, expected, counts.n_after[crew]),
        placebos=len(placebo),
        placebo_share=(
            float(np.mean(placebo <= observed - point)) if len(placebo) else None
        ),
    )


def _require(counts: BeforeAfter, crew: int, others: NDArray[np.bool_]) -> None:
    if counts.n_after[crew] <= 0:
        raise ValueError("nothing of the crew is judged after the day")
    if counts.n_before[others].sum() <= 0 or counts.n_after[others].sum() <= 0:
        raise ValueError("no other crew is judged both before and after the day")
    if not 0 < counts.x_before.sum() < counts.n_before.sum():
        raise ValueError("before the day none, or all, of the checks are nonconforming")


def draw_difference(
    counts: BeforeAfter,
    crew: int,
    others: NDArray[np.bool_],
    fitted: ManyAndFew,
    rng: np.random.Generator,
    draws: int = DRAWS,
) -> tuple[Floats, tuple[float, float]]:
    """Return draws of the rate expected untrained, and the difference's 95 % interval.

    `others`: the crews that give the trend; `fitted`: to all crews before the day.
    """

    def jeffreys(x: float, n: float) -> Floats:
        return np.asarray(rng.beta(x + 0.5, n - x + 0.5, draws))

    x, n = counts.x_before, counts.n_before
    rate = fitted.draws(x[crew], n[crew], fitted.unlike[crew], draws, rng)
    trends = jeffreys(counts.x_after[others].sum(), counts.n_after[others].sum())
    trends /= jeffreys(x[others].sum(), n[others].sum())
    after = jeffreys(counts.x_after[crew], counts.n_after[crew])
    expected = np.minimum(rate * trends, 1.0)
    low, high = np.quantile(after - expected, [0.025, 0.975])
    return expected, (float(low), float(high))


def _trend(counts: BeforeAfter, crews: NDArray[np.bool_]) -> float:
    """Return the crews' rate after / before, half an anchor added to keep off 0."""
    after = (counts.x_after[crews].sum() + 0.5) / (counts.n_after[crews].sum() + 1)
    before = (counts.x_before[crews].sum() + 0.5) / (counts.n_before[crews].sum() + 1)
    return float(after / before)


def _differences(
    counts: BeforeAfter, before: Floats, others: NDArray[np.bool_]
) -> Floats:
    """Return observed less expected of each untreated crew, by the rest's trend."""
    found = np.full(len(before), np.nan)
    for crew in np.flatnonzero(others & (counts.n_after > 0)):
        rest = others.copy()
        rest[crew] = False
        if counts.n_before[rest].sum() > 0 and counts.n_after[rest].sum() > 0:
            observed = counts.x_after[crew] / counts.n_after[crew]
            found[crew] = observed - min(before[crew] * _trend(counts, rest), 1.0)
    return found


def _detectable_fall(point: float, expected: Floats, judged: float) -> float | None:
    """Return the fall seen with 80 % power by a two-sided 5 % test, normal formula."""
    uncertain = float(np.var(expected))

    def is_seen(fall: float) -> bool:
        return is_fall_seen(point, point - fall, uncertain, judged)

    if not is_seen(point):
        return None
    low, high = 0.0, point
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if is_seen(middle) else (middle, high)
    return high


def is_fall_seen(before: float, after: float, uncertain: float, judged: float) -> bool:
    """Return whether so many judged afterwards show a fall 8 times of 10.

    Two-sided 5 % test, normal sample-size formula (as NIST/SEMATECH e-Handbook
    7.2.4.2); `uncertain` is the variance of the rate expected, `judged` may be divided
    by the inflation of bad days.
    """
    at, reach = special.ndtri(0.975), special.ndtri(POWER)
    null = np.sqrt(uncertain + before * (1 - before) / judged)
    true = np.sqrt(uncertain + after * (1 - after) / judged)
    return bool(before - after >= at * null + reach * true)
