"""Judged and nonconforming of one check, day by day."""

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.selection import Selection


def read_judged_days(
    con: duckdb.DuckDBPyConnection, check_name: str, selection: Selection, by: str = ""
) -> pl.DataFrame:
    """Return one row a group and day with anything judged, by group and day.

    `by`: "site", "crew", "anchor_size", or "" for all together. Columns: group_name,
    installed_on, week (2026-W19), month (2026-05), judged, nonconforming.
    """
    return read_frame(
        con,
        """
        with judged as materialized (
            from judged_day(
                $by, $check_name, $from_on, $to_on, $site_codes, $crew_codes,
                $anchor_sizes
            )
        ),

        -- Named once a day, not once a group and day.
        day as (
            select
                installed_on,
                strftime(installed_on, '%G-W%V') as week,
                strftime(installed_on, '%Y-%m') as month
            from (select distinct installed_on from judged)
        )

        select group_name, installed_on, week, month, judged, nonconforming
        from judged
        inner join day using (installed_on)
        order by group_name, installed_on
        """,
        {"by": by, "check_name": check_name, **selection.parameters()},
    )
