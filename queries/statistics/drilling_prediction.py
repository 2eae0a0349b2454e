"""Seconds per good hole, of one hole and of a list, on a known site or a new one.

By simulation: each draw is one way the world could be (the model's coefficients, the
site, its crews, how often holes are abandoned there). All lines of a list and all
options compared share a draw, so that what they have in common cancels in a difference
and adds up in a sum.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from queries.statistics.drilling_model import DRAWS, SEED, DrillingModel, site_noise
from queries.statistics.drilling_terms import DEPTH_MM
from queries.statistics.mixed_model import Floats

# What makes a total uncertain; "holes" is the scatter from hole to hole.
CAUSES = ("site", "crew", "model", "abandonment", "holes")


# Terms of which a hole has one at most, each with its share of such holes.
Mixture = tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Hole:
    """A hole to be drilled: its terms (p), as DrillingModel.terms orders them.

    `depth_mm` is what will be drilled; the terms hold its logarithm. `mixed`: what is
    not known of it, as whether its bit is worn; the terms hold the shares.
    """

    terms: Floats
    depth_mm: float
    mixed: tuple[Mixture, ...] = ()


@dataclass(frozen=True)
class Draws:
    """Draws of what is not known: `beta` (N, p), `level` (N) of log time, `factor` (N).

    `level` is the site's effect and its crews' mean effect as a factor; `factor` how
    often holes are abandoned there, as a factor of the average.
    """

    beta: Floats
    level: Floats
    factor: Floats
    hazard: Floats
    rng: np.random.Generator


def draw(
    model: DrillingModel,
    site: int | None,
    *,
    crews: int = 1,
    vary: Collection[str] = CAUSES,
    count: int = DRAWS,
    seed: int = SEED,
) -> Draws:
    """Return draws for a known site (its number in model.labels) or a new one (None).

    `crews`: how many, unknown ones, share the work evenly. Causes not in `vary` stay at
    their middle.
    """
    fit = model.fit
    rng = np.random.default_rng(seed)
    size = len(fit.beta)
    away = np.zeros((count, size))
    if "model" in vary:
        kept = np.flatnonzero(fit.is_kept)
        root = _root(fit.covariance[np.ix_(kept, kept)])
        away[:, kept] = rng.standard_normal((count, len(kept))) @ root.T
    level = np.zeros(count)
    if site is not None:
        level += fit.site_effect[site] - away @ fit.site_lean[site]
    if "site" in vary:
        if site is None:
            level += site_noise(rng, fit, len(model.labels.sites), count)
        else:
            level += rng.normal(0, np.sqrt(fit.site_rest[site]), count)
    if "crew" in vary:
        each = rng.normal(0, np.sqrt(fit.crew_var), (count, crews))
        level += np.log(np.exp(each).mean(axis=1))
    factor, hazard = np.ones(count), np.ones(count)
    if "abandonment" in vary:
        factor = model.abandonment.draw_factors(rng, count, site)
        hazard = rng.standard_normal(count)
    else:
        hazard[:] = 0.0
    return Draws(fit.beta + away, level, factor, hazard, rng)


def _root(covariance: Floats) -> Floats:
    """Return the symmetric root of a covariance, be it nearly definite only.

    It is the only one that rounding hardly moves: the sign of an eigenvector is
    arbitrary, and sums added in another order turned it round, and with it the draws.
    """
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)) @ vectors.T)


@dataclass(frozen=True)
class Moments:
    """Of each draw (N): mean and variance of the seconds of one good hole.

    The time of abandoned attempts is included; `completed_s` (N) is without it, `odds`
    (N) the abandoned attempts a good hole.
    """

    mean_s: Floats
    var_s2: Floats
    completed_s: Floats
    odds: Floats


def moments(model: DrillingModel, draws: Draws, hole: Hole) -> Moments:
    """Return the moments of a good hole in each draw.

    A good hole costs its own time and that of the attempts lost before it, a geometric
    number with odds exp(H) - 1, where H is the hazard of abandonment cumulated to the
    depth. An abandoned attempt has the time of a hole as deep as it got, times the
    factor of abandoned ones. Logarithms become times by smearing (DrillingModel), and
    what is mixed by its own times, whose mean is above that of their logarithms.
    """
    terms, beta = model.terms, draws.beta
    base = (hole.terms - model.fit.centre) @ beta.T + draws.level
    through = np.exp(beta[:, terms.index("through rebar")])
    share = model.through_share
    clean, hit = model.completed, model.through
    mean, square = _of_mixed(beta, hole.mixed)
    first = mean * ((1 - share) * clean.mean + share * through * hit.mean)
    second = square * ((1 - share) * clean.square + share * through**2 * hit.square)
    middle = np.exp(base)
    completed = middle * first
    lost, lost_square = _given_up(model, draws, hole)
    odds = _odds(model, draws, hole.depth_mm)
    lost, lost_square = middle * mean * lost, middle**2 * square * lost_square
    var = middle**2 * (second - first**2)
    var = var + odds * lost_square + odds**2 * lost**2
    return Moments(completed + odds * lost, var, completed, odds)


def _of_mixed(beta: Floats, mixed: Collection[Mixture]) -> tuple[Floats, Floats]:
    """Return, a draw, mean and mean square of what is mixed over the mean logarithm."""
    mean, square = np.ones(len(beta)), np.ones(len(beta))
    for mixture in mixed:
        at, share = _shares(mixture)
        effects = np.column_stack([beta[:, at], np.zeros(len(beta))])
        middle = effects @ share
        mean = mean * (np.exp(effects) @ share / np.exp(middle))
        square = square * (np.exp(2 * effects) @ share / np.exp(2 * middle))
    return mean, square


def _shares(mixture: Mixture) -> tuple[list[int], Floats]:
    """Return the terms, and their shares with that of none of them last."""
    given = [share for _, share in mixture]
    return [at for at, _ in mixture], np.array([*given, max(1 - sum(given), 0.0)])


def _odds(model: DrillingModel, draws: Draws, depth_mm: float) -> Floats:
    """Return abandoned attempts a good hole in each draw."""
    risk, var = model.abandonment.cumulative(depth_mm)
    # Lognormal about the estimate: a hazard is never below 0.
    error = np.sqrt(np.log1p(var / risk**2)) if risk > 0 else 0.0
    return np.asarray(np.expm1(risk * draws.factor * np.exp(error * draws.hazard)))


def _given_up(model: DrillingModel, draws: Draws, hole: Hole) -> tuple[Floats, Floats]:
    """Return mean and mean square of an abandoned attempt's time over the hole's."""
    beta, terms = draws.beta, model.terms
    middles, shares = model.abandonment.given_up_at(hole.depth_mm)
    nearer = np.log(middles / hole.depth_mm)
    more = beta[:, terms.index("abandoned")]
    by_depth = np.exp(np.outer(beta[:, terms.index("depth")], nearer) + more[:, None])
    return (
        np.asarray(by_depth @ shares * model.abandoned.mean),
        np.asarray((by_depth * by_depth) @ shares * model.abandoned.square),
    )


def one_hole(model: DrillingModel, draws: Draws, hole: Hole) -> Floats:
    """Return one good hole's seconds in each draw, abandoned attempts included."""
    count, rng = len(draws.level), draws.rng
    beta, terms = draws.beta, model.terms
    base = (hole.terms - model.fit.centre) @ beta.T + draws.level
    for mixture in hole.mixed:
        at, share = _shares(mixture)
        effects = np.column_stack([beta[:, at], np.zeros(count)])
        drawn = rng.choice(len(share), count, p=share / share.sum())
        base = base + effects[np.arange(count), drawn] - effects @ share
    scatter = rng.choice(model.noise_log, count)
    is_through = rng.random(count) < model.through_share
    more = np.where(is_through, beta[:, terms.index("through rebar")], 0.0)
    time = np.exp(base + scatter + more)
    odds = _odds(model, draws, hole.depth_mm)
    lost = rng.geometric(1 / (1 + odds)) - 1
    middles, shares = model.abandonment.given_up_at(hole.depth_mm)
    nearer = np.log(middles / hole.depth_mm)
    for number in range(int(lost.max())):
        again = np.flatnonzero(lost > number)
        depth = rng.choice(nearer, len(again), p=shares)
        attempt = (
            base[again]
            + beta[again, terms.index("depth")] * depth
            + beta[again, terms.index("abandoned")]
            + rng.choice(model.noise_log, len(again))
        )
        time[again] += np.exp(attempt)
    return np.asarray(time)


def total(
    model: DrillingModel,
    draws: Draws,
    lines: Sequence[tuple[Hole, int]],
    *,
    scatter: bool = True,
) -> tuple[Floats, Floats]:
    """Return seconds of each line (N, lines) and of all of them (N) in each draw.

    The sum of a line's holes is gamma with the mean and variance of that many holes:
    skew for a few, normal for many.
    """
    found = np.empty((len(draws.level), len(lines)))
    for at, (hole, count) in enumerate(lines):
        one = moments(model, draws, hole)
        if scatter:
            shape = count * one.mean_s**2 / np.maximum(one.var_s2, 1e-12)
            found[:, at] = draws.rng.gamma(shape) * one.var_s2 / one.mean_s
        else:
            found[:, at] = count * one.mean_s
    return found, found.sum(axis=1)


def spread_shares(
    model: DrillingModel,
    site: int | None,
    crews: int,
    lines: Sequence[tuple[Hole, int]],
) -> dict[str, float]:
    """Return each cause's share of the total's variance: that cause alone let vary."""
    found = {}
    for cause in CAUSES:
        draws = draw(model, site, crews=crews, vary=(cause,), count=1000)
        _, sums = total(model, draws, lines, scatter=cause == "holes")
        found[cause] = float(np.log(np.maximum(sums, 1e-12)).var())
    whole = sum(found.values())
    return {cause: value / whole if whole else 0.0 for cause, value in found.items()}


def quantile(values: Floats, *at: float) -> NDArray[np.float64]:
    """Return quantiles, interpolated."""
    return np.asarray(np.quantile(values, at))


def depth_term(depth_mm: float) -> float:
    """Return the term of a depth."""
    return float(np.log(depth_mm / DEPTH_MM))
