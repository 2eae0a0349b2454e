"""What the fitted model says of each term, of each site, and beside a measurement."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from queries.statistics.drilling_model import DRAWS, SEED, DrillingModel, site_noise
from queries.statistics.drilling_prediction import depth_term
from queries.statistics.drilling_terms import DIAMETER_MM
from queries.statistics.mixed_model import Floats

Z = 1.959963984540054
# Up to where the metres of a bit count (bit_day.sql).
COUNTED_TO_M = 60.0
TOLD_WITHIN = 10.0
# A published measurement: 19 mm bit, 76 mm deep, aged concrete, 8.3 kg hammer on a
# robot bench: 7.8 s with a new bit, 12.3 s after 57 m (Antonucci, Barr, Martin and
# Rempel 2017, J. Occup. Environ. Hyg. 14(8); seconds from an abstract of that work).
STUDY_BIT_MM, STUDY_DEPTH_MM, STUDY_WORN_M = 19.0, 76.0, 57.0
STUDY_NEW_S, STUDY_WORN_S = 7.8, 12.3


def term_effects(model: DrillingModel) -> pl.DataFrame:
    """Return each term that could be told apart, with a 95 % interval.

    Columns: term, estimate, low, high (of log seconds; depth and diameter per unit of
    log: the exponents), factor, factor_low, factor_high (of time: exp of them).
    """
    fit = model.fit
    error = np.sqrt(np.diag(fit.covariance))
    frame = pl.DataFrame(
        {
            "term": model.terms.names,
            "estimate": fit.beta,
            "low": fit.beta - Z * error,
            "high": fit.beta + Z * error,
            "is_kept": fit.is_kept,
        }
    ).filter(pl.col("is_kept") & (pl.col("term") != "intercept"))
    return frame.drop("is_kept").with_columns(
        pl.col("estimate").exp().alias("factor"),
        pl.col("low").exp().alias("factor_low"),
        pl.col("high").exp().alias("factor_high"),
    )


def site_effects(model: DrillingModel) -> pl.DataFrame:
    """Return how much longer each site takes than the middle one for the same holes.

    Columns: site, crews, factor, low, high (95 %), covered (the share of its holes that
    the others' 80 % interval held; null where it has no plain completed hole). Best
    linear predictions: sites with few holes are drawn to 1.
    """
    fit = model.fit
    leaning = np.einsum("si,ij,sj->s", fit.site_lean, fit.covariance, fit.site_lean)
    error = np.sqrt(leaning + fit.site_rest)
    crews = [site for site, _ in model.labels.crews]
    covered = {one.site_code: one.covered for one in model.coverage}
    return pl.DataFrame(
        {
            "site": model.labels.sites,
            "crews": [crews.count(site) for site in model.labels.sites],
            "factor": np.exp(fit.site_effect),
            "low": np.exp(fit.site_effect - Z * error),
            "high": np.exp(fit.site_effect + Z * error),
            "covered": [covered.get(site) for site in model.labels.sites],
        }
    ).sort("factor", "site")


def tells_wear(model: DrillingModel) -> bool:
    """Say whether the logs tell what a worn bit costs.

    They do where the 95 % interval after COUNTED_TO_M spans no more than TOLD_WITHIN
    (project default).
    """
    found = term_effects(model).filter(pl.col("term") == "bit metres")
    spans = ((found["high"] - found["low"]) * COUNTED_TO_M).exp()
    return bool((spans <= TOLD_WITHIN).any())


def wear_curve(model: DrillingModel) -> pl.DataFrame:
    """Return how much longer a hole takes with a worn bit, by the metres it drilled.

    Columns: metres (0 to COUNTED_TO_M), factor beside a new bit, low, high (95 %).
    Empty where the logs do not tell.
    """
    term = pl.lit(tells_wear(model)) & (pl.col("term") == "bit metres")
    metres = pl.col("metres")
    return (
        term_effects(model)
        .filter(term)
        .select("estimate", "low", "high")
        .join(pl.DataFrame({"metres": np.linspace(0, COUNTED_TO_M, 13)}), how="cross")
        .select(
            metres,
            (pl.col("estimate") * metres).exp().alias("factor"),
            (pl.col("low") * metres).exp(),
            (pl.col("high") * metres).exp(),
        )
    )


@dataclass(frozen=True)
class Band:
    """Seconds of one completed hole on a new site at each depth: P10, P50 and P90."""

    depth_mm: Floats
    p10_s: Floats
    p50_s: Floats
    p90_s: Floats


def band(model: DrillingModel, hole_terms: Floats, depths_mm: Floats) -> Band:
    """Return the model's band for holes of these terms (p) at other depths.

    Through no reinforcement; site, crew and hole to hole vary, as in a new site's log.
    """
    fit, at = model.fit, model.terms.index("depth")
    rng = np.random.default_rng(SEED)
    away = (
        site_noise(rng, fit, len(model.labels.sites), DRAWS)
        + rng.normal(0, np.sqrt(fit.crew_var), DRAWS)
        + rng.choice(model.noise_log, DRAWS)
    )
    low, middle, high = np.quantile(away, [0.1, 0.5, 0.9])
    terms = np.repeat(hole_terms[None, :], len(depths_mm), axis=0)
    terms[:, at] = [depth_term(depth) for depth in depths_mm]
    base = fit.mean(terms)
    return Band(
        depths_mm, np.exp(base + low), np.exp(base + middle), np.exp(base + high)
    )


@dataclass(frozen=True)
class StudyCheck:
    """The model at the measured hole: seconds with a new bit, P10, P50 and P90.

    `worn_factor`: how much longer after 57 m by the model's slope; None without one.
    """

    p10_s: float
    p50_s: float
    p90_s: float
    worn_factor: float | None


def study_check(model: DrillingModel) -> StudyCheck:
    """Return what the model says of the hole of the published measurement.

    On the floor, with a hammer drill, where the logs have both. Not a test of the data:
    another machine and another feed force give another time.
    """
    terms = model.terms
    found = terms.row(
        depth=depth_term(STUDY_DEPTH_MM),
        diameter=float(np.log(STUDY_BIT_MM / DIAMETER_MM)),
        strength=model.usual_strength,
    )
    for name in ("method hammer", "orientation floor"):
        if name in terms.names:
            found[terms.index(name)] = 1.0
    here = band(model, found, np.array([STUDY_DEPTH_MM]))
    metres = terms.index("bit metres")
    worn = (
        float(np.exp(model.fit.beta[metres] * STUDY_WORN_M))
        if tells_wear(model)
        else None
    )
    return StudyCheck(
        float(here.p10_s[0]), float(here.p50_s[0]), float(here.p90_s[0]), worn
    )
