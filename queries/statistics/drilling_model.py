"""The fitted model of drilling time, its residuals, and how well it foretells sites."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
import polars as pl

from queries.statistics.abandonment import Abandonment
from queries.statistics.drilling_checks import residual_checks
from queries.statistics.drilling_terms import (
    Labels,
    Residuals,
    Terms,
    crew_numbers,
    depth_products,
    groups_of_cells,
    labels_of,
    mean_terms,
    residuals_of,
    terms_of,
)
from queries.statistics.mixed_model import Floats, Groups, MixedFit, fit_mixed

# Fewer holes or sites say nothing of another site (project default).
FEWEST_HOLES = 100
FEWEST_SITES = 3
# A variance of log time: a millionth of the time from hole to hole is none.
NO_SPREAD = 1e-12
NOMINAL = 0.8
DRAWS = 4000
SEED = 20


class Lack(Enum):
    """What a store lacks for a model, in words: what the model needs."""

    HOLES = (
        f"{FEWEST_HOLES} timed and completed holes from {FEWEST_SITES} sites or more; "
        "this store has fewer"
    )
    SPREAD = (
        "times that differ between like holes; those of this store do not, as where "
        "nobody measures them"
    )


@dataclass(frozen=True)
class Smearing:
    """Mean and mean square of exp(residual), which log time needs to become time.

    Duan 1983, J. Am. Stat. Assoc. 78:605-610: exp(mean of log time) is the median of a
    skew distribution, not its mean.
    """

    mean: float
    square: float


def smearing(residuals: Residuals) -> Smearing:
    """Return the factors of residuals in cells; within a narrow cell exp is expanded.

    E exp(m + d) = exp(m) E exp(d), with E exp(d) = exp(var / 2) to third order in a
    cell's deviation d: a cell is a fifth wide in log(s per mm).
    """
    n, mean, var = residuals.n, residuals.mean, residuals.var
    total = max(float(n.sum()), 1.0)
    return Smearing(
        float((n * np.exp(mean + var / 2)).sum() / total) if len(n) else 1.0,
        float((n * np.exp(2 * mean + 2 * var)).sum() / total) if len(n) else 1.0,
    )


@dataclass(frozen=True)
class SiteCoverage:
    """How a site was foretold by all others. `mean_log`: its mean residual about them.

    `covered` the share of its holes within the nominal interval for a new site;
    `is_mean_covered` whether its mean log time was within the site-level interval.
    """

    site_code: str
    holes: int
    covered: float
    mean_log: float
    low_log: float
    high_log: float
    is_mean_covered: bool


@dataclass(frozen=True)
class DrillingModel:
    """All that predictions need. Times in seconds, `holes` used in the fit.

    `noise_log` are residuals of log time of completed holes, in order, at even steps of
    probability; `noise_var` the residual variance, less what rounding added (Sheppard);
    `checks` residuals by bit diameter and method (residual_checks). `through_share` of
    the completed holes went through reinforcement. `usual_*` are means over completed
    holes whose bit or strength is known.
    """

    fit: MixedFit
    terms: Terms
    labels: Labels
    holes: int
    noise_var: float
    noise_log: Floats
    checks: pl.DataFrame
    completed: Smearing
    through: Smearing
    abandoned: Smearing
    through_share: float
    usual_bit_m: float
    usual_strength: float
    usual_worn: float
    abandonment: Abandonment
    coverage: tuple[SiteCoverage, ...]

    @property
    def covered(self) -> float:
        """The share of all left-out sites' holes within the nominal interval."""
        holes = sum(one.holes for one in self.coverage)
        return sum(one.holes * one.covered for one in self.coverage) / holes


def fit_drilling(cells: pl.DataFrame, abandonment: Abandonment) -> DrillingModel | Lack:
    """Return the model of cells (drilling_cell.sql), or what they lack for one."""
    is_completed = ~pl.col("is_abandoned")
    holes = int(cells.filter(is_completed)["n"].sum())
    labels = labels_of(cells)
    if holes < FEWEST_HOLES or len(labels.sites) < FEWEST_SITES:
        return Lack.HOLES
    terms = terms_of(cells)
    groups = groups_of_cells(cells, terms, labels)
    fit = fit_mixed(groups)
    if fit.residual_var < NO_SPREAD:
        return Lack.SPREAD
    crew = crew_numbers(cells, labels)
    effects = (fit.site_effect[groups.site] + fit.crew_effect)[crew]
    base = effects - fit.centre @ fit.beta
    left = residuals_of(cells, terms, fit.beta, base)
    rounding = float(cells["sum_v"].sum()) / float(cells["n"].sum())
    done = ~cells["is_abandoned"].to_numpy()
    through = cells["is_through_rebar"].to_numpy()
    plain = done & ~through
    usual = cells.filter(is_completed)
    return DrillingModel(
        fit=fit,
        terms=terms,
        labels=labels,
        holes=holes,
        noise_var=max(fit.residual_var - rounding, 0.0),
        noise_log=_even_steps(_some(left, plain)),
        checks=residual_checks(
            cells.filter(pl.Series(plain)),
            _some(left, plain),
            depth_products(cells, terms, fit.beta, base)[plain],
        ),
        completed=smearing(_some(left, plain)),
        through=smearing(_some(left, through)),
        abandoned=smearing(_some(left, ~done)),
        through_share=_share(usual, pl.col("is_through_rebar")),
        usual_bit_m=_mean(usual.filter(~pl.col("is_bit_unknown")), "sum_w"),
        usual_strength=_mean(usual.filter(~pl.col("is_strength_unknown")), "sum_c"),
        usual_worn=_share(usual, pl.col("is_worn")),
        abandonment=abandonment,
        coverage=_leave_one_out(cells, groups, terms, labels, fit, plain),
    )


def _some(residuals: Residuals, wanted: np.ndarray) -> Residuals:
    return Residuals(residuals.n[wanted], residuals.mean[wanted], residuals.var[wanted])


def _share(cells: pl.DataFrame, which: pl.Expr) -> float:
    total = float(cells["n"].sum())
    return float(cells.filter(which)["n"].sum()) / total if total else 0.0


def _mean(cells: pl.DataFrame, name: str) -> float:
    total = float(cells["n"].sum())
    return float(cells[name].sum()) / total if total else 0.0


def _even_steps(residuals: Residuals, steps: int = 400) -> Floats:
    """Return quantiles of residuals at (i + 1/2) / steps: a sample that stands for all.

    A cell counts as its mean and, where it holds several holes, a deviation to either
    side.
    """
    sd = np.sqrt(residuals.var)
    values = np.concatenate([residuals.mean - sd, residuals.mean + sd])
    weight = np.concatenate([residuals.n, residuals.n]) / 2
    order = np.argsort(values, kind="stable")
    reached = (np.cumsum(weight[order]) - weight[order] / 2) / weight.sum()
    at = (np.arange(steps) + 0.5) / steps
    return np.asarray(np.interp(at, reached, values[order]))


def site_noise(
    rng: np.random.Generator, fit: MixedFit, sites: int, draws: int
) -> Floats:
    """Return draws of a new site's effect: t with sites - 1 degrees of freedom.

    A deviation estimated from few sites is itself uncertain.
    """
    return np.asarray(np.sqrt(fit.site_var) * rng.standard_t(sites - 1, draws))


def _leave_one_out(
    cells: pl.DataFrame,
    groups: Groups,
    terms: Terms,
    labels: Labels,
    fit: MixedFit,
    plain: np.ndarray,
) -> tuple[SiteCoverage, ...]:
    """Foretell the completed holes of each site by the model of all the others."""
    sites = len(labels.sites)
    start = (
        float(np.sqrt(fit.crew_var / fit.residual_var)),
        float(np.sqrt(fit.site_var / fit.residual_var)),
    )
    crew = crew_numbers(cells, labels)
    site_of_cell = groups.site[crew]
    zero = np.zeros(cells.height)
    left = residuals_of(cells, terms, fit.beta, zero - fit.centre @ fit.beta)
    noise = _some(left, plain)
    effects = (fit.site_effect[groups.site] + fit.crew_effect)[crew]
    tail = _even_steps(Residuals(noise.n, noise.mean - effects[plain], noise.var))
    found = []
    for site, code in enumerate(labels.sites):
        others = fit_mixed(groups.without_site(site), start, fine=False)
        here = cells.filter(pl.Series(plain & (site_of_cell == site)))
        if here.is_empty():
            continue
        seen = residuals_of(here, terms, others.beta, -(others.centre @ others.beta))
        middle = mean_terms(here, terms)
        crews = int((groups.site == site).sum())
        found.append(_coverage(code, seen, others, middle, tail, (sites - 1, crews)))
    return tuple(found)


def _coverage(
    code: str,
    seen: Residuals,
    others: MixedFit,
    middle: Floats,
    tail: Floats,
    sites_and_crews: tuple[int, int],
) -> SiteCoverage:
    """Compare a site's residuals `seen` about the others' model with its intervals.

    `middle`: the site's mean terms; `tail`: residuals of single holes.
    """
    sites, crews = sites_and_crews
    rng = np.random.default_rng(SEED)
    level = site_noise(rng, others, sites, DRAWS) + rng.normal(
        0, np.sqrt(others.mean_var(middle)), DRAWS
    )
    crew = rng.normal(0, np.sqrt(others.crew_var), DRAWS)
    ends = [(1 - NOMINAL) / 2, (1 + NOMINAL) / 2]
    low, high = np.quantile(level + crew + rng.choice(tail, DRAWS), ends)
    # Of its crews' mean effect the site's own mean has only a part.
    level_low, level_high = np.quantile(level + crew / np.sqrt(crews), ends)
    # A cell counts as two halves, a deviation to either side of its mean.
    sd = np.sqrt(seen.var)
    inside = np.zeros(len(seen.n))
    for side in (seen.mean - sd, seen.mean + sd):
        inside += ((side >= low) & (side <= high)) / 2
    mean = float(seen.n @ seen.mean / seen.n.sum())
    return SiteCoverage(
        code,
        int(seen.n.sum()),
        float(seen.n @ inside / seen.n.sum()),
        mean,
        float(level_low),
        float(level_high),
        bool(level_low <= mean <= level_high),
    )
