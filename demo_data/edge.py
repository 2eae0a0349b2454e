"""Edges and neighbours, and the concrete around the anchor."""

import numpy as np
import polars as pl

from demo_data import grid
from demo_data.flaws import Flaws
from demo_data.streams import Floats, Streams

CLEAR = np.inf

# Spacing: no neighbour near, far enough for the smallest edge, or closer than that.
CLEAR_SPACING_FRAC = 0.35
WIDE_SPACING_FRAC = 0.80
CLEAR_EDGE_FRAC = 0.25
AT_LIMIT_FRAC = 0.15
CLEAR_SECOND_EDGE_FRAC = 0.6
MEAN_BEYOND_MM = 70.0
LACKING_EDGE_MM = (1.0, 25.0)
CONCRETE_MPA = (25.0, 30.0, 35.0, 40.0)


def required_edge_mm(rows: pl.DataFrame, spacing_mm: Floats) -> Floats:
    """Return the edge distance that each spacing asks for (trade-facts section 1).

    c_min from spacing s_1 on; below it, the line from (s_1, c_min) to (s_min, c_1)
    where the setting data interpolate, else c_1.
    """
    min_edge, at_spacing, min_spacing, at_edge = (
        rows[name].to_numpy()
        for name in ("min_edge_mm", "at_spacing_mm", "min_spacing_mm", "at_edge_mm")
    )
    finite = np.minimum(spacing_mm, at_spacing)
    on_line = min_edge + (at_spacing - finite) * (at_edge - min_edge) / (
        at_spacing - min_spacing
    )
    interpolates = rows["edge_spacing_interpolates"].to_numpy()
    tight = np.where(interpolates, on_line, at_edge)
    return np.asarray(np.where(spacing_mm >= at_spacing, min_edge, tight))


def add_edges(rows: pl.DataFrame, flaws: Flaws, streams: Streams) -> pl.DataFrame:
    """Add edge_1_mm, edge_2_mm and spacing_mm (infinite where clear), and concrete.

    Spacing always reaches s_min: an edge that is too close is also a pair that is not
    allowed, and so counts for the spacing too. Readings are rounded
    to the tape, outward where they conform and inward where they do not.
    """
    rng = streams.named("edges")
    count = rows.height
    step = rows["tape_step_mm"].to_numpy()
    spacing = _spacing(rows, step, rng)
    required = required_edge_mm(rows, spacing)
    beyond = np.where(
        rng.random(count) < AT_LIMIT_FRAC, 0.0, rng.exponential(MEAN_BEYOND_MM, count)
    )
    is_close, is_hidden = flaws.logged["edge_distance"], flaws.hidden["edge_distance"]
    beyond[is_hidden] = 0.0
    edge = grid.up(required + beyond, step)
    edge[(rng.random(count) < CLEAR_EDGE_FRAC) & ~is_hidden] = CLEAR
    lacking = rng.uniform(*LACKING_EDGE_MM, count)
    edge[is_close] = grid.down(required - lacking, step)[is_close]
    second = edge + step * rng.integers(0, 40, count)
    second[rng.random(count) < CLEAR_SECOND_EDGE_FRAC] = CLEAR
    thickness = rows["min_member_mm"].to_numpy() + rng.exponential(60.0, count)
    is_cracked = pl.Series(rng.random(count) < 0.5)
    return rows.with_columns(
        edge_1_mm=pl.Series(edge),
        edge_2_mm=pl.Series(second),
        spacing_mm=pl.Series(spacing),
        member_thickness_mm=pl.Series(grid.up(thickness, step)),
        concrete_mpa=pl.Series(rng.choice(CONCRETE_MPA, count)),
        base_material=pl.when(
            is_cracked
            & pl.col("base_materials").str.split(";").list.contains("CRACKED")
        )
        .then(pl.lit("CRACKED"))
        .otherwise(pl.lit("UNCRACKED")),
    )


def _spacing(rows: pl.DataFrame, step: Floats, rng: np.random.Generator) -> Floats:
    count = rows.height
    kind = rng.random(count)
    at_spacing = rows["at_spacing_mm"].to_numpy()
    min_spacing = rows["min_spacing_mm"].to_numpy()
    wide = at_spacing + rng.exponential(MEAN_BEYOND_MM, count)
    tight = min_spacing + (at_spacing - min_spacing) * rng.random(count)
    spacing = grid.up(np.where(kind < WIDE_SPACING_FRAC, wide, tight), step)
    spacing[kind < CLEAR_SPACING_FRAC] = CLEAR
    return spacing
