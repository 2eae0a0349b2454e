"""Whether a rate near nothing can be believed: crews whose record is worth a look."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import duckdb
import polars as pl

from dashboard import words
from dashboard.kept import kept, read_kept_doubts
from dashboard.sentences import MUCH_MISSING
from queries.readers.doubted_rates import read_doubted_rates
from queries.readers.doubts import BATCH, select_batches
from queries.selection import Selection

# Near nothing is a tenth of what the other crews show, or less.
NEAR = 0.1


def read_near_zero(
    con: duckdb.DuckDBPyConnection, selection: Selection, checks: tuple[str, ...]
) -> pl.DataFrame:
    """Return the crews of a selection whose rate near nothing rests on batches to look
    at, by `checks`; those with most judged in such batches first.

    Near nothing: at most NEAR of the rate of all other crews, and an interval below it.
    Such batches hold MUCH_MISSING of the judged or more. Columns: site, crew, check,
    those of read_doubted_rates, others_rate, and batches.
    """
    everywhere = replace(selection, site_codes=(), crew_codes=(), check_names=checks)
    found = kept(con, ("near zero", everywhere), lambda: _read(con, everywhere))
    for key, chosen in (
        ("site", selection.site_codes),
        ("crew", selection.crew_codes),
    ):
        if chosen:
            found = found.filter(pl.col(key).is_in(list(chosen)))
    return found


def _read(con: duckdb.DuckDBPyConnection, everywhere: Selection) -> pl.DataFrame:
    listed = select_batches(read_kept_doubts(con).listed, everywhere)
    rates = read_doubted_rates(con, ["site", "crew"], everywhere, listed.select(BATCH))
    number = listed.group_by(
        pl.col("site_code").alias("site"), pl.col("crew_code").alias("crew")
    ).agg(pl.len().alias("batches"))
    # Those of all other crews: what the crew did at other sites is not theirs.
    judged, nonconforming = (
        pl.col(name).sum().over("check") - pl.col(name).sum().over("check", "crew")
        for name in ("judged", "nonconforming")
    )
    others_rate = pl.when(judged > 0).then(nonconforming / judged)
    return (
        rates.with_columns(others_rate.alias("others_rate"))
        .join(number, on=["site", "crew"])
        .filter(
            (pl.col("doubted") > 0)
            & (pl.col("doubted") >= MUCH_MISSING * pl.col("judged"))
            & (pl.col("rate") <= NEAR * pl.col("others_rate"))
            & (pl.col("high") < pl.col("others_rate"))
        )
        .sort("doubted", "site", "crew", descending=[True, False, False])
    )


def near_zero_words(row: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """Return the sentence of one row of read_near_zero; `names`: sites by code."""
    site = names.get(row["site"], row["site"])
    check = words.title(row["check"]).lower()
    counted = words.share(row["nonconforming"], row["judged"])
    return (
        f"{site}, crew {row['crew']}: {words.percent(row['rate'])} nonconforming on "
        f"{check} ({counted}) may not be so: "
        f"{words.plural(row['batches'], 'batch', 'batches')}, with "
        f"{words.count(row['doubted'])} of these judged, are unlike those of the other "
        "crews there. If they are unknown its rate may be up to "
        f"{words.percent(row['rate_if_unrecorded_not'])}; all other crews show "
        f"{words.percent(row['others_rate'])}."
    )
