"""Seconds of cleaning and setting, which some sites log beside the drilling."""

import polars as pl

from queries.readers.drilling_model import DrillingData
from queries.readers.drilling_support import FEWEST

STEPS = {"cleaning", "setting"}


def handling_of(
    data: DrillingData, anchor_size: str, drill_method: str
) -> pl.DataFrame:
    """Return what is logged of a size and method, one row a step.

    Columns of `handling_time.sql`; a step of fewer than 20 anchors is left out, as a
    hole of so few is outside the data.
    """
    return data.handling.filter(
        (pl.col("anchor_size") == anchor_size)
        & (pl.col("drill_method") == drill_method)
        & (pl.col("anchors") >= FEWEST)
    )


def seconds(handling: pl.DataFrame) -> float | None:
    """Return the mean seconds an anchor of all steps logged; None where none is."""
    return float(handling["mean_s"].sum()) if handling.height else None
