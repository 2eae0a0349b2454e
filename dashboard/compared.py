"""Each group beside all the others: pure, frame in, frame out."""

from collections.abc import Mapping
from typing import Any

import polars as pl


def add_others(rates: pl.DataFrame, key: str) -> pl.DataFrame:
    """Add what all other groups of `key` show together, per check.

    `rates` has one row a group and check (read_rates by one key). New columns:
    others_judged, others_nonconforming, others_rate (null where the others judged
    nothing), and position: where the group's Wilson interval lies against the
    others' rate: "above", "below", "around", or null where there is no interval or
    no other. The group itself is never in its own yardstick.
    """
    return (
        rates.with_columns(
            (pl.col("judged").sum().over("check") - pl.col("judged")).alias(
                "others_judged"
            ),
            (
                pl.col("nonconforming").sum().over("check") - pl.col("nonconforming")
            ).alias("others_nonconforming"),
        )
        .with_columns(_others_rate().alias("others_rate"))
        .with_columns(
            pl.when(pl.col("low").is_null() | pl.col("others_rate").is_null())
            .then(None)
            .when(pl.col("low") > pl.col("others_rate"))
            .then(pl.lit("above"))
            .when(pl.col("high") < pl.col("others_rate"))
            .then(pl.lit("below"))
            .otherwise(pl.lit("around"))
            .alias("position")
        )
    )


def add_flags(
    rates: pl.DataFrame, key: str, compared: Mapping[str, pl.DataFrame]
) -> pl.DataFrame:
    """Add `flagged`: out of line in the comparison of its check; false where none is.

    `rates` has one row a group of `key` and check; `compared`: per check its rows of
    read_comparison.
    """
    flags = [
        groups.select(
            pl.col("group").alias(key),
            pl.lit(check).alias("check"),
            pl.col("flagged").fill_null(value=False),
        )
        for check, groups in compared.items()
    ]
    return rates.join(
        pl.concat(flags), on=[key, "check"], how="left", maintain_order="left"
    ).with_columns(pl.col("flagged").fill_null(value=False))


def _others_rate() -> pl.Expr:
    judged = pl.col("others_judged")
    return pl.when(judged > 0).then(pl.col("others_nonconforming") / judged)


def pooled(rates: pl.DataFrame) -> pl.DataFrame:
    """Return one row a check over all groups: the counts and rate, checks in order."""
    return (
        rates.group_by("check", maintain_order=True)
        .agg(
            pl.col(
                "installations", "judged", "nonconforming", "unrecorded", "unreadable"
            ).sum()
        )
        .with_columns(
            pl.when(pl.col("judged") > 0)
            .then(pl.col("nonconforming") / pl.col("judged"))
            .alias("rate")
        )
    )


def missing_share() -> pl.Expr:
    """The share of due checks without an answer: unrecorded or unreadable."""
    missing = pl.col("unrecorded") + pl.col("unreadable")
    due = pl.col("judged") + missing
    return pl.when(due > 0).then(missing / due)


def found_beside(row: Mapping[str, Any]) -> int:
    """Return the nonconforming of a row that what is expected stands beside."""
    return int(row["nonconforming"] - (row["silent_nonconforming"] or 0))


def expected_rate(row: Mapping[str, Any]) -> float | None:
    """Return the rate of the others for a row's own mix; None: none compares."""
    compared = row["judged"] - (row["silent_judged"] or 0)
    if row["expected"] is None or not compared:
        return None
    return float(row["expected"] / compared)
