"""The hole: how deep, abandoned or not, with which bit, in how many seconds."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from demo_data import grid, plan
from demo_data.flaws import Flaws, touched
from demo_data.rota import elapsed_frac
from demo_data.stories import Planted
from demo_data.streams import Flags, Floats, Streams

# Invented, after trade-facts section 12: depth beyond the required one, and how much
# a shallow hole lacks.
EXTRA_DEPTH_MM = (4.0, 2.5)
LACKING_DEPTH_MM = (1.0, 15.0)
DRILLED_THROUGH_REBAR_FRAC = 0.008
REBAR_TIME_FACTOR = (2.0, 4.0)
ABANDONED_TIME_FACTOR = (1.5, 3.0)
# Hollow bits are not made for the smallest holes.
SMALLEST_HOLLOW_BIT_MM = 8.0
EXTRACTION_RUNNING_FRAC = 0.95
BIT_MEASURED_FRAC = 0.3


def add_hole(
    rows: pl.DataFrame, flaws: Flaws, stories: Sequence[Planted], streams: Streams
) -> pl.DataFrame:
    """Add depth, outcome, rebar_hit, drill_method, extraction_on, bit and drill_s.

    An abandoned hole keeps the depth at which it met reinforcement.
    """
    return (
        rows.pipe(_add_method, streams.named("method"))
        .pipe(_add_depth, flaws, streams.named("depth"))
        .pipe(_add_bit, stories, streams.named("bit"))
        .pipe(_add_drill_time, stories, streams)
        .drop("metres_drilled")
    )


def _add_method(rows: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    is_running = pl.Series(rng.random(rows.height) < EXTRACTION_RUNNING_FRAC)
    is_hollow = pl.col("is_hollow") & (
        pl.col("drill_diameter_mm") >= SMALLEST_HOLLOW_BIT_MM
    )
    return rows.with_columns(
        drill_method=pl.when(is_hollow)
        .then(pl.lit("hollow_bit"))
        .otherwise(pl.lit("hammer")),
        extraction_on=pl.when(is_hollow).then(is_running),
    ).drop("is_hollow")


def _planned_depth(
    rows: pl.DataFrame, flaws: Flaws, rng: np.random.Generator
) -> Floats:
    count = rows.height
    step = rows["depth_step_mm"].to_numpy()
    extra = grid.near(np.abs(rng.normal(*EXTRA_DEPTH_MM, count)), step)
    lacking = np.maximum(grid.near(rng.uniform(*LACKING_DEPTH_MM, count), step), step)
    extra[flaws.hidden["hole_depth"]] = 0.0
    is_shallow = flaws.logged["hole_depth"]
    margin = np.where(is_shallow, -lacking, extra)
    return np.asarray(rows["required_hole_depth_mm"].to_numpy() + margin)


def _add_depth(
    rows: pl.DataFrame, flaws: Flaws, rng: np.random.Generator
) -> pl.DataFrame:
    """Drill to the planned depth, or to the reinforcement met before it."""
    planned = _planned_depth(rows, flaws, rng)
    met_at = plan.REBAR_COVER_MM + rng.exponential(
        1 / plan.REBAR_HAZARD_PER_MM, rows.height
    )
    is_abandoned = met_at < planned
    is_through = rng.random(rows.height) < DRILLED_THROUGH_REBAR_FRAC
    stopped = grid.down(met_at, rows["depth_step_mm"].to_numpy())
    return rows.with_columns(
        hole_depth_mm=pl.Series(np.where(is_abandoned, stopped, planned)),
        outcome=pl.Series(np.where(is_abandoned, "abandoned", "set")),
        rebar_hit=pl.Series(is_abandoned | is_through),
    )


def _is_worn_out(
    rows: pl.DataFrame, stories: Sequence[Planted]
) -> tuple[Flags, Floats]:
    """Return who never changes bits, and the part of drilling time that this adds."""
    is_worn = np.zeros(rows.height, dtype=np.bool_)
    added = np.zeros(rows.height)
    for fact in stories:
        if fact.kind == "bit_wear_time" and fact.value is not None:
            who = touched(rows, fact)
            passed = elapsed_frac(rows["installed_on"], fact.from_on, fact.to_on)
            is_worn |= who
            added[who] = fact.value * passed[who]
    return is_worn, added


def _add_bit(
    rows: pl.DataFrame, stories: Sequence[Planted], rng: np.random.Generator
) -> pl.DataFrame:
    """Add bit_code, bit_diameter_mm, bit_worn and metres_drilled (before this hole).

    Each crew has a bit a size; the first one starts somewhere in its life, so that
    wear is alike in seldom and often used sizes.
    """
    by_bit = ["crew_code", "drill_diameter_mm"]
    bits = rows.select(by_bit).unique(maintain_order=True)
    start = pl.Series("start_m", rng.uniform(0.0, plan.BIT_LIFE_M, bits.height))
    before = pl.col("hole_depth_mm").cum_sum().over(by_bit) - pl.col("hole_depth_mm")
    total = pl.col("start_m") + before / 1000
    is_worn, added = _is_worn_out(rows, stories)
    wear = pl.col("metres_drilled") / plan.BIT_LIFE_M
    width = pl.col("bit_max_mm") - pl.col("bit_min_mm")
    # A bit starts near its largest diameter and is changed well before its smallest;
    # one that is never changed ends below it.
    never_changed = pl.Series(is_worn)
    worn_part = (
        pl.when(never_changed).then(pl.Series(added) * 2).otherwise(wear * 0.7) + 0.1
    )
    is_measured = pl.Series(rng.random(rows.height) < BIT_MEASURED_FRAC)
    return (
        rows.join(
            bits.with_columns(start), on=by_bit, how="left", maintain_order="left"
        )
        .with_columns(metres_drilled=total % plan.BIT_LIFE_M)
        .with_columns(
            bit_code=pl.format(
                "{}-{}-{}",
                pl.col("anchor_size"),
                pl.col("crew_code"),
                pl.when(never_changed)
                .then(1)
                .otherwise((total // plan.BIT_LIFE_M) + 1)
                .cast(pl.Int64),
            ),
            bit_diameter_mm=pl.when(is_measured).then(
                (pl.col("bit_max_mm") - width * worn_part).round(2)
            ),
            bit_worn=pl.when(is_measured).then(pl.lit(False)),
        )
        .drop("start_m")
    )


def group_effects(
    codes: pl.Series, sd: float, streams: Streams, name: str
) -> dict[str, float]:
    """Return the effect on log time of each code (a site, a crew), mean 0."""
    unique = codes.unique().sort().to_list()
    effects = streams.named(f"effect of {name}").normal(0.0, sd, len(unique))
    return dict(zip(unique, effects.tolist(), strict=True))


def _add_drill_time(
    rows: pl.DataFrame, stories: Sequence[Planted], streams: Streams
) -> pl.DataFrame:
    """Add drill_s by the log model of plan.py, rounded to a tenth of a second."""
    rng = streams.named("drill time")
    count = rows.height
    sites = group_effects(rows["site_code"], plan.DRILL_SITE_SD, streams, "site")
    crews = group_effects(rows["crew_code"], plan.DRILL_CREW_SD, streams, "crew")
    is_worn, added = _is_worn_out(rows, stories)
    metres = rows["metres_drilled"].to_numpy()
    slower = np.where(is_worn, added, plan.WEAR_FRAC_PER_M * metres)
    is_abandoned = (rows["outcome"] == "abandoned").to_numpy()
    is_through = rows["rebar_hit"].to_numpy() & ~is_abandoned
    factor = np.ones(count)
    factor[is_through] = rng.uniform(*REBAR_TIME_FACTOR, count)[is_through]
    factor[is_abandoned] = rng.uniform(*ABANDONED_TIME_FACTOR, count)[is_abandoned]
    effects = rows.select(
        pl.col("site_code").replace_strict(sites, return_dtype=pl.Float64)
        + pl.col("crew_code").replace_strict(crews, return_dtype=pl.Float64)
        + pl.col("drill_method").replace_strict(
            plan.DRILL_METHOD_EFFECTS, return_dtype=pl.Float64
        )
        + pl.col("orientation").replace_strict(
            plan.DRILL_ORIENTATION_EFFECTS, return_dtype=pl.Float64
        )
    ).to_series()
    log_s = (
        plan.DRILL_INTERCEPT
        + plan.DRILL_DEPTH_EXPONENT * np.log(rows["hole_depth_mm"].to_numpy())
        + plan.DRILL_DIAMETER_EXPONENT * np.log(rows["drill_diameter_mm"].to_numpy())
        + effects.to_numpy()
        + np.log1p(slower)
        + rng.normal(0.0, plan.DRILL_NOISE_SD, count)
    )
    return rows.with_columns(drill_s=pl.Series(np.round(np.exp(log_s) * factor, 1)))
