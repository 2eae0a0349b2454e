"""Drilling time against depth."""

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.selection import Selection


def read_drilling_depths(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> pl.DataFrame:
    """Return times in steps of 10 mm of drilled depth, per size and method.

    Columns: anchor_size, drill_method, depth_from_mm, depth_to_mm, timed_holes,
    p10_s, p50_s, p90_s (null where no attempt was timed), attempts, abandoned.
    Sizes by diameter. `drilling_by_depth.sql` defines them.
    """
    return read_frame(
        con,
        """
        select
            anchor_size, drill_method, depth_from_mm, depth_to_mm,
            timed_holes, p10_s, p50_s, p90_s, attempts, abandoned
        from drilling_by_depth(
            $from_on, $to_on, $site_codes, $crew_codes, $anchor_sizes
        )
        order by diameter_mm, anchor_size, drill_method, depth_from_mm
        """,
        selection.parameters(),
    )


def read_drilling_summary(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> pl.DataFrame:
    """Return what a hole cost, per size and method, abandoned attempts included.

    Columns: anchor_size, drill_method, attempts, abandoned, abandoned_rate,
    good_holes, timed_attempts, untimed_attempts, median_depth_mm, p50_s, p80_s,
    s_per_good_hole, completed_timed, completed_mean_s, cleaning_s, cleaning_timed,
    setting_s, setting_timed. Sizes by diameter. `drilling_summary.sql` defines them.
    """
    return read_frame(
        con,
        """
        select
            anchor_size, drill_method, attempts, abandoned, abandoned_rate,
            good_holes, timed_attempts, untimed_attempts, median_depth_mm,
            p50_s, p80_s, s_per_good_hole, completed_timed, completed_mean_s,
            cleaning_s, cleaning_timed, setting_s, setting_timed
        from drilling_summary(
            $from_on, $to_on, $site_codes, $crew_codes, $anchor_sizes
        )
        order by diameter_mm, anchor_size, drill_method
        """,
        selection.parameters(),
    )
