"""Whether the model of drilling time fits each bit, and each bit's depths."""

import polars as pl

from queries.statistics.drilling_terms import DEPTH_MM, Residuals
from queries.statistics.mixed_model import Floats

_BY = ("drill_diameter_mm", "drill_method")


def residual_checks(
    cells: pl.DataFrame, residuals: Residuals, depth_products: Floats
) -> pl.DataFrame:
    """Return residuals of log seconds by drill_diameter_mm and drill_method.

    `cells` (drilling_cell.sql) with their residuals and `depth_products`, the sums of
    residual times depth term (`drilling_terms.depth_products`). Columns besides: holes,
    mean_log, sd_log; shallow_mm and deep_mm, a deviation of log depth to either side of
    its mean, with shallow_log and deep_log, the least-squares line of residuals against
    log depth there. Where one is far from 0 the model does not fit that bit, or its
    depths. Exact: a cell is cut by speed, so that cells' means against their mean
    depths would lean even where the model is true, but their sums do not.
    """
    summed = cells.select(*_BY, "sum_z", "sum_zz").with_columns(
        pl.Series("holes", residuals.n),
        pl.Series("sum", residuals.n * residuals.mean),
        pl.Series("square", residuals.n * (residuals.mean**2 + residuals.var)),
        pl.Series("product", depth_products),
    )
    n, mean, depth = pl.col("holes"), pl.col("mean_log"), pl.col("depth")
    return (
        summed.group_by(_BY)
        .agg(pl.exclude(_BY).sum())
        .with_columns((pl.col("sum") / n).alias("mean_log"))
        .with_columns(
            (pl.col("square") / n - mean**2).clip(0).sqrt().alias("sd_log"),
            (pl.col("sum_z") / n).alias("depth"),
            (pl.col("sum_zz") / n - (pl.col("sum_z") / n) ** 2)
            .clip(0)
            .sqrt()
            .alias("spread"),
        )
        # How far the line leans over one deviation of depth; flat at a single depth.
        .with_columns(
            pl.when(pl.col("spread") > 1e-6)
            .then((pl.col("product") / n - mean * depth) / pl.col("spread"))
            .otherwise(0.0)
            .alias("lean")
        )
        .select(
            *_BY,
            n.cast(pl.Int64),
            mean,
            "sd_log",
            (DEPTH_MM * (depth - pl.col("spread")).exp()).alias("shallow_mm"),
            (DEPTH_MM * (depth + pl.col("spread")).exp()).alias("deep_mm"),
            (mean - pl.col("lean")).alias("shallow_log"),
            (mean + pl.col("lean")).alias("deep_log"),
        )
        .sort(_BY)
    )
