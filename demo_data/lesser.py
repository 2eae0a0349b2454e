"""Faults in what is seldom looked at: type, bit, member, concrete, spacing, tilt.

A small background everywhere and a planted crew each. They change no other check: a
close neighbour is put only where no edge is near, since the two allow each other.
"""

from collections.abc import Callable, Sequence

import numpy as np
import polars as pl

from demo_data import plan
from demo_data.flaws import touched
from demo_data.stories import Planted
from demo_data.streams import Flags, Floats, Streams

OTHER_TYPES = {"DEMO-Z": "DEMO-S", "DEMO-S": "DEMO-Z"}
OVERSIZE_MM = (0.05, 0.30)
THIN_FRAC = (0.70, 0.95)
WEAK_MPA = 15.0
CLOSE_FRAC = (0.60, 0.95)
TILTED_DEG = (0.5, 4.0)


def add_lesser_faults(
    rows: pl.DataFrame, stories: Sequence[Planted], streams: Streams
) -> pl.DataFrame:
    """Spoil the entries of a few installations; the others stay as they are."""
    for check_name, (column, spoilt) in SPOILT.items():
        rng = streams.named(f"lesser {check_name}")
        is_flawed = _draw(rows, stories, check_name, rng)
        part = rng.random(rows.height)
        rows = rows.with_columns(
            pl.when(pl.Series(is_flawed))
            .then(spoilt(part))
            .otherwise(column)
            .alias(column)
        )
    return rows


def _draw(
    rows: pl.DataFrame,
    stories: Sequence[Planted],
    check_name: str,
    rng: np.random.Generator,
) -> Flags:
    probability = np.full(rows.height, plan.LESSER_BACKGROUND[check_name])
    for fact in stories:
        if fact.check_name == check_name and fact.value is not None:
            probability[touched(rows, fact)] = fact.value
    return np.asarray(rng.random(rows.height) < probability)


def _between(limits: tuple[float, float], part: Floats) -> pl.Series:
    low, high = limits
    return pl.Series(low + (high - low) * part)


def _other_type(part: Floats) -> pl.Expr:
    return pl.col("anchor_type_code").replace(OTHER_TYPES)


def _oversize(part: Floats) -> pl.Expr:
    """A bit that was measured, too large for the hole."""
    too_large = (pl.col("bit_max_mm") + _between(OVERSIZE_MM, part)).round(2)
    return pl.when(pl.col("bit_diameter_mm").is_not_null()).then(too_large)


def _thin(part: Floats) -> pl.Expr:
    return (pl.col("min_member_mm") * _between(THIN_FRAC, part)).round(0)


def _weak(part: Floats) -> pl.Expr:
    return pl.lit(WEAK_MPA)


def _close(part: Floats) -> pl.Expr:
    too_close = (pl.col("min_spacing_mm") * _between(CLOSE_FRAC, part)).round(0)
    no_edge = pl.min_horizontal("edge_1_mm", "edge_2_mm").is_infinite()
    return pl.when(no_edge).then(too_close).otherwise("spacing_mm")


def _tilted(part: Floats) -> pl.Expr:
    off = (pl.col("max_tilt_deg") + _between(TILTED_DEG, part)).round(1)
    return pl.when(pl.col("tilt_deg").is_not_null()).then(off)


SPOILT: dict[str, tuple[str, Callable[[Floats], pl.Expr]]] = {
    "anchor_type": ("anchor_type_code", _other_type),
    "drill_bit": ("bit_diameter_mm", _oversize),
    "member_thickness": ("member_thickness_mm", _thin),
    "base_material": ("concrete_mpa", _weak),
    "spacing": ("spacing_mm", _close),
    "tilt": ("tilt_deg", _tilted),
}
