"""Rates whose range of truth also allows for batches that are worth a look."""

from collections.abc import Sequence

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import CHECK_NAMES
from queries.readers.rates import read_rates
from queries.selection import Selection


def read_doubted_rates(
    con: duckdb.DuckDBPyConnection,
    by: Sequence[str],
    selection: Selection,
    batches: pl.DataFrame,
) -> pl.DataFrame:
    """Return read_rates with every due check of `batches` counted as unknown.

    `batches` has site_code, crew_code and installed_on. Counts, rate and interval stay;
    rate_if_unrecorded_conform leaves the batches' nonconforming ones out,
    rate_if_unrecorded_not takes every check due in them as nonconforming. One column
    more, doubted: how many judged checks lie in these batches.
    """
    rates = read_rates(con, by, selection)
    keys = [*by, "check"]
    doubted = read_frame(
        con,
        """
        select * from doubted_count(
            $by, $check_names, $from_on, $to_on, $site_codes, $crew_codes,
            $anchor_sizes, $batch_sites, $batch_crews, $batch_days
        )
        """,
        {
            "by": list(by),
            "check_names": list(selection.check_names or CHECK_NAMES),
            "batch_sites": batches["site_code"].to_list(),
            "batch_crews": batches["crew_code"].to_list(),
            "batch_days": batches["installed_on"].to_list(),
            **selection.parameters(),
        },
    )
    counts = [name for name in doubted.columns if name.startswith("doubted_")]
    joined = rates.join(
        doubted.select(*keys, *counts),
        on=keys,
        how="left",
        nulls_equal=True,
        maintain_order="left",
    ).with_columns(pl.col(counts).fill_null(0))
    due = pl.col("judged") + pl.col("unrecorded") + pl.col("unreadable")
    more = (
        pl.col("doubted_due")
        - pl.col("doubted_nonconforming")
        - pl.col("doubted_undecided")
    )
    return joined.with_columns(
        pl.col("rate_if_unrecorded_conform") - pl.col("doubted_nonconforming") / due,
        pl.col("rate_if_unrecorded_not") + more / due,
        pl.col("doubted_judged").alias("doubted"),
    ).drop(counts)
