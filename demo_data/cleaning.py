"""Cleaning the hole: strokes of the brush, blows of the pump, or a plain yes or no."""

import numpy as np
import polars as pl

from demo_data.flaws import Flaws
from demo_data.streams import Streams

NOT_AT_ALL_FRAC = 0.6
VACUUMED_FRAC = 0.3


def add_cleaning(rows: pl.DataFrame, flaws: Flaws, streams: Streams) -> pl.DataFrame:
    """Add brush_count, blow_count, cleaned and vacuumed.

    A site logs counts, a yes or no, or nothing (cleaning_logged). Where extraction
    replaces cleaning there is nothing to count.
    """
    rng = streams.named("cleaning")
    count = rows.height
    brushes = rows["brushes_required"].to_numpy()
    blows = rows["blows_required"].to_numpy()
    is_poor, is_hidden = flaws.logged["hole_cleaning"], flaws.hidden["hole_cleaning"]
    # A hole cleaned too little has no strokes to spare, nor has one that only reads so.
    spare = np.where(is_poor | is_hidden, 0, rng.integers(0, 3, count))
    is_untouched = is_poor & (rng.random(count) < NOT_AT_ALL_FRAC)
    lacks_brush = (brushes > 0) & (rng.random(count) < 0.5)
    brushed = brushes + np.where(brushes > 0, spare, 0) - (is_poor & lacks_brush)
    blown = blows + spare - (is_poor & ~lacks_brush)
    is_replaced = (
        pl.col("extraction_replaces_cleaning")
        & pl.col("extraction_on").fill_null(value=False)
        & (pl.col("drill_method") == "hollow_bit")
    )
    is_counted = (pl.col("cleaning_logged") == "counts") & ~is_replaced
    is_yes_no = (pl.col("cleaning_logged") == "yes_no") & ~is_replaced
    return rows.with_columns(
        brush_count=pl.when(is_counted).then(
            pl.Series(np.where(is_untouched, 0, brushed))
        ),
        blow_count=pl.when(is_counted).then(
            pl.Series(np.where(is_untouched, 0, np.maximum(blown, 0)))
        ),
        cleaned=pl.when(is_yes_no).then(pl.Series(~is_poor)),
        vacuumed=pl.Series(rng.random(count) < VACUUMED_FRAC),
    )
