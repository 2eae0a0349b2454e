"""How many holes are lost on the way down: pure, frame in, frame out."""

import polars as pl

GROUP = ["anchor_size", "drill_method"]


def add_lost(depths: pl.DataFrame) -> pl.DataFrame:
    """Add how many attempts reached each step of depth, and what share was lost by it.

    `depths`: read_drilling_depths, in order of depth within a size and method. New
    columns: reached (attempts that ended in this step or deeper) and lost_share (the
    share lost by the end of the step, null where none reached it).

    The abandoned share *within* a step would mislead: an abandoned hole stops short,
    so that a shallow step holds abandoned ones only. This is the product-limit
    estimate (Kaplan and Meier 1958, J. Am. Stat. Assoc. 53:457-481): a hole that was
    finished at a shallower planned depth says nothing about the deeper steps.
    """
    return (
        depths.with_columns(
            pl.col("attempts")
            .reverse()
            .cum_sum()
            .reverse()
            .over(GROUP)
            .alias("reached")
        )
        .with_columns(
            pl.when(pl.col("reached") > 0)
            .then(1 - pl.col("abandoned") / pl.col("reached"))
            .alias("kept_share")
        )
        .with_columns(
            (1 - pl.col("kept_share").cum_prod().over(GROUP)).alias("lost_share")
        )
        .drop("kept_share")
    )
