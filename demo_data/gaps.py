"""Entries left blank: what is not on a site's form, and what was forgotten."""

from functools import reduce

import numpy as np
import polars as pl

from demo_data import plan
from demo_data.streams import Streams

# What belongs together on a form is forgotten together. Forgetting one part alone
# would hide conforming rows more often than nonconforming ones: an edge below the
# minimum needs no spacing to be judged, an edge above it does.
FORGOTTEN_TOGETHER: tuple[tuple[str, ...], ...] = (
    ("anchor_length_mm", "length_mark"),
    ("hole_depth_mm",),
    ("fixture_thickness_mm", "packing_mm", "projection_mm"),
    ("embedment_mm",),
    ("brush_count", "blow_count", "cleaned"),
    ("edge_1_mm", "edge_2_mm", "spacing_mm"),
    ("setting_torque_nm",),
    ("drill_s",),
    ("cleaning_s", "setting_s"),
    ("wrench_code",),
    ("bit_code",),
    ("installer_code",),
    ("concrete_mpa",),
    ("member_thickness_mm",),
)

# An abandoned attempt ends with the hole.
NOT_REACHED = (
    "anchor_length_mm",
    "length_mark",
    "fixture_thickness_mm",
    "packing_mm",
    "projection_mm",
    "embedment_mm",
    "brush_count",
    "blow_count",
    "cleaned",
    "cleaning_s",
    "setting_s",
    "setting_torque_nm",
    "recheck_torque_nm",
    "recheck_local",
    "wrench_code",
)


def leave_blank(rows: pl.DataFrame, streams: Streams) -> pl.DataFrame:
    """Blank the share missing_frac of each group of entries, whatever its values."""
    return (
        reduce(
            lambda frame, group: _forget(
                frame,
                group,
                pl.Series(
                    streams.named(f"gap {group[0]}").random(frame.height)
                    < frame["missing_frac"].to_numpy()
                ),
            ),
            FORGOTTEN_TOGETHER,
            rows,
        )
        .pipe(_forget_marks, streams.named("gap marks"))
        .pipe(_forget, NOT_REACHED, rows["outcome"] == "abandoned")
    )


def _forget(
    rows: pl.DataFrame, names: tuple[str, ...], is_blank: pl.Series
) -> pl.DataFrame:
    return rows.with_columns(pl.when(~is_blank).then(pl.col(names)))


def _forget_marks(rows: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    """Marks on a bolt's end are often worn off or painted over."""
    is_blank = pl.Series(rng.random(rows.height) < plan.MARK_MISSING_FRAC)
    return _forget(rows, ("length_mark",), is_blank)
