"""Seconds of cleaning and of setting, at the sites whose form asks for them."""

import numpy as np
import polars as pl

from demo_data import plan
from demo_data.streams import Streams


def add_handling(rows: pl.DataFrame, streams: Streams) -> pl.DataFrame:
    """Add cleaning_s and setting_s, whole seconds, where times_handling.

    Log-normal around the means of plan.py; setting goes with the bit's diameter.
    Where extraction replaces cleaning there is none to time.
    """
    rng = streams.named("handling")
    spread = plan.HANDLING_NOISE_SD
    # exp of a normal with this mean has mean 1.
    cleaning, setting = np.exp(rng.normal(-(spread**2) / 2, spread, (2, rows.height)))
    size = rows["drill_diameter_mm"].to_numpy() / plan.HANDLING_DIAMETER_MM
    is_replaced = (
        pl.col("extraction_replaces_cleaning")
        & pl.col("extraction_on").fill_null(value=False)
        & (pl.col("drill_method") == "hollow_bit")
    )
    return rows.with_columns(
        cleaning_s=pl.when(pl.col("times_handling") & ~is_replaced).then(
            pl.Series(np.round(plan.CLEANING_MEAN_S * cleaning))
        ),
        setting_s=pl.when(pl.col("times_handling")).then(
            pl.Series(np.round(plan.SETTING_MEAN_S * size * setting))
        ),
    )
