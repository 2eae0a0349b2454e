"""Planned holes of which no log shows an anchor: what a log may leave out."""

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.selection import Selection

# An anchor so long after its plan's last day still counts for it (project default).
LATE_DAYS = 28
FEWEST_UNLOGGED = 5
MUCH = 0.1
COUNTS = ("planned", "logged", "unlogged", "beyond", "ahead", "unknown")


def read_unlogged(con: duckdb.DuckDBPyConnection, selection: Selection) -> pl.DataFrame:
    """Return planned holes beside anchors logged, a row a site and setting data.

    Columns: site_code, setting_code, anchor_size, first_on and last_on (of the plans
    that are due; null without any), and in holes: planned (due), logged, unlogged
    (planned and not logged), beyond (logged and not planned), ahead (not due yet),
    unknown (of setting data that are not loaded, which have no size).
    queries/views/planned_beside_logged.sql says which plans are due and what counts
    for them. Plans lie whole in the selection's days; its crews and checks choose
    nothing here.
    """
    asked = selection.parameters() | {"late_days": LATE_DAYS}
    asked.pop("crew_codes")
    found = read_frame(
        con,
        """
        select *
        from planned_beside_logged(
            $from_on, $to_on, $late_days, $site_codes, $anchor_sizes
        )
        order by site_code, setting_code
        """,
        asked,
    )
    # What is logged without a plan is no plan's; without one that is due none counts.
    more = pl.col("logged") - pl.col("planned")
    is_known = pl.col("anchor_size").is_not_null()
    return found.with_columns(
        unlogged=(-more).clip(lower_bound=0),
        beyond=more.clip(lower_bound=0),
        ahead=pl.when(is_known).then("ahead").otherwise(0),
        unknown=pl.when(is_known).then(0).otherwise("ahead"),
    ).select("site_code", "setting_code", "anchor_size", "first_on", "last_on", *COUNTS)


def unlogged_by_site(lines: pl.DataFrame) -> pl.DataFrame:
    """Return the sums of read_unlogged by site, those with most unlogged first.

    Columns: site_code, COUNTS and unlogged_rate (of planned; null where nothing is
    due). What one setting data has beyond its plan
    makes up for no hole of another.
    """
    return (
        lines.group_by("site_code")
        .agg(pl.col(COUNTS).sum())
        .with_columns(unlogged_rate=_rate())
        .sort("unlogged", "site_code", descending=[True, False])
    )


def much_unlogged(by_site: pl.DataFrame) -> pl.DataFrame:
    """Return the sites with FEWEST_UNLOGGED holes unlogged or more, and MUCH of them.

    Both are project defaults.
    """
    return by_site.filter(
        pl.col("unlogged") >= FEWEST_UNLOGGED, pl.col("unlogged_rate") >= MUCH
    )


def _rate() -> pl.Expr:
    planned = pl.col("planned")
    return pl.when(planned > 0).then(pl.col("unlogged") / planned)
