"""What crews will do next: the sheet of planned holes, else the pace of late."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import CHECK_NAMES
from queries.readers.evidence import read_crew_sums
from queries.readers.rates import require_known
from queries.selection import Selection

AHEAD = timedelta(weeks=8)
DUE = ("judged", "unrecorded", "unreadable")
SCHEMA = {
    "crew": pl.String,
    "check": pl.String,
    "planned": pl.Int64,
    "judged_lately": pl.Int64,
}


@dataclass(frozen=True)
class Plans:
    """`checks`: one row a crew and check: crew, check, planned, judged_lately.

    planned: the checks due in the 8 weeks after the selection's last day. Of
    `planned_sites` (codes) by the sheet of planned holes, `hole_count` holes in all;
    of the others, the checks that were due in the selection's days.
    """

    checks: pl.DataFrame
    planned_sites: tuple[str, ...]
    hole_count: float


def read_plans(
    con: duckdb.DuckDBPyConnection, check_names: Sequence[str], lately: Selection
) -> Plans:
    """Return what is due next of each check, by crew.

    `lately`: the days whose pace counts, with a first and a last day. A hole that is
    planned counts as many checks as the crew's installations lately had due, of a crew
    without any as many as all crews' had.
    """
    require_known("check", check_names, CHECK_NAMES)
    holes = _planned_holes(con, lately)
    sites = tuple(sorted(set(holes["site_code"])))
    all_due = _due(con, check_names, lately)
    paced = all_due
    if sites:
        others = [site for site in _sites(con, lately) if site not in sites]
        paced = all_due.clear()
        if others:
            paced = _due(con, check_names, replace(lately, site_codes=tuple(others)))
    by_crew = holes.group_by("crew_code").agg(pl.col("hole_count").sum())
    checks = [_planned(name, all_due, paced, by_crew) for name in check_names]
    return Plans(
        pl.concat([pl.DataFrame(schema=SCHEMA), *checks]),
        sites,
        float(holes["hole_count"].sum()),
    )


def _planned_holes(con: duckdb.DuckDBPyConnection, lately: Selection) -> pl.DataFrame:
    last_on: date = lately.to_on or date.max - AHEAD
    return read_frame(
        con,
        """
        select site_code, crew_code, hole_count
        from planned_work(
            $first_on, $end_on, $from_on, $site_codes, $anchor_sizes
        )
        where crew_code is not null
        order by site_code, crew_code
        """,
        {
            "first_on": last_on + timedelta(days=1),
            "end_on": last_on + AHEAD,
            "from_on": lately.from_on,
            "site_codes": list(lately.site_codes) or None,
            "anchor_sizes": list(lately.anchor_sizes) or None,
        },
    )


def _sites(con: duckdb.DuckDBPyConnection, lately: Selection) -> list[str]:
    if lately.site_codes:
        return list(lately.site_codes)
    found = con.execute("select distinct site_code from tally").fetchall()
    return [site for (site,) in found]


def _due(
    con: duckdb.DuckDBPyConnection, check_names: Sequence[str], selection: Selection
) -> pl.DataFrame:
    """Return installations and, by check, checks due and judged, one row a crew."""
    counts = [f"{name}_{count}" for name in check_names for count in DUE]
    sums = read_crew_sums(con, (), ["installations", *counts], selection)
    due = [
        pl.sum_horizontal(f"{name}_{count}" for count in DUE).alias(f"{name}_due")
        for name in check_names
    ]
    return sums.with_columns(due)


def _planned(
    name: str, all_due: pl.DataFrame, paced: pl.DataFrame, holes: pl.DataFrame
) -> pl.DataFrame:
    everybody = all_due.select(
        pl.col(f"{name}_due").sum() / pl.col("installations").sum()
    ).item()
    return (
        all_due.select("crew_code", "installations", f"{name}_due", f"{name}_judged")
        .join(holes, on="crew_code", how="full", coalesce=True)
        .join(
            paced.select("crew_code", pl.col(f"{name}_due").alias("paced")),
            on="crew_code",
            how="left",
        )
        .select(
            pl.col("crew_code").alias("crew"),
            pl.lit(name).alias("check"),
            (
                pl.col("paced").fill_null(0)
                + pl.col("hole_count").fill_null(0.0)
                * (pl.col(f"{name}_due") / pl.col("installations"))
                .fill_null(everybody)
                .fill_null(0.0)
            )
            .round()
            .cast(pl.Int64)
            .alias("planned"),
            pl.col(f"{name}_judged").fill_null(0).alias("judged_lately"),
        )
    )
