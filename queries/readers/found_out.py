"""Anchors whose torque nobody knows: their wrench was found out of tolerance later."""

from collections.abc import Mapping

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import CHECK_NAMES
from queries.selection import Selection

_TORQUE = CHECK_NAMES.index("setting_torque")


def read_found_out(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return the anchors set with wrenches found out of tolerance, in the days of it.

    A row per wrench, period, site, crew, size and day with any; last found, first
    listed. Columns: wrench_code, calibrated_on (the calibration before, null where none
    is known), found_on (the first day after the period), site_code, crew_code,
    anchor_size, installed_on, anchors, and of these conforming (in setting_torque) and
    rechecked (a torque was found on found_on or later, by the site's days). Abandoned
    attempts and superseded revisions do not count. DuckDB reads no installation where
    no wrench was found out: 1 ms at ten million rows, 45 ms where some were.
    """
    return read_frame(
        con,
        f"""
        select
            found_out.wrench_code, found_out.calibrated_on, found_out.found_on,
            logged.site_code, logged.crew_code, required.anchor_size,
            logged.installed_on,
            count(*) as anchors,
            sum((logged.conforming_mask >> {_TORQUE}) & 1)::bigint as conforming,
            count_if(
                logged.recheck_torque_nm is not null
                and (logged.recheck_at at time zone site.time_zone)::date
                >= found_out.found_on
            )::bigint as rechecked
        from installation as logged
        inner join found_out
            on logged.wrench_code = found_out.wrench_code
            and logged.installed_on
            >= coalesce(found_out.calibrated_on, '-infinity'::date)
            and logged.installed_on < found_out.found_on
        inner join setting_data as required using (setting_code)
        inner join site on logged.site_code = site.site_code
        where logged.outcome is distinct from 'abandoned'
        group by all
        order by found_on desc, wrench_code, site_code, crew_code
        """,
    )


def found_out_by_wrench(found: pl.DataFrame, selection: Selection) -> pl.DataFrame:
    """Return read_found_out of a selection, a row a wrench and period.

    Without those all of whose anchors were checked again since: there is nothing left
    to decide. site_codes and crew_codes are sorted lists in place of the codes;
    anchors_of_all counts beyond the selection, whose checks do not matter.
    """
    period = ["wrench_code", "calibrated_on", "found_on"]
    of_all = found.group_by(period).agg(pl.col("anchors").sum().alias("anchors_of_all"))
    for column, chosen in (
        ("site_code", selection.site_codes),
        ("crew_code", selection.crew_codes),
        ("anchor_size", selection.anchor_sizes),
    ):
        if chosen:
            found = found.filter(pl.col(column).is_in(list(chosen)))
    if selection.from_on is not None:
        found = found.filter(pl.col("installed_on") >= selection.from_on)
    if selection.to_on is not None:
        found = found.filter(pl.col("installed_on") <= selection.to_on)
    by_wrench = (
        found.group_by(period, maintain_order=True)
        .agg(
            pl.col("site_code").unique().sort().alias("site_codes"),
            pl.col("crew_code").unique().sort().alias("crew_codes"),
            pl.col("anchors", "conforming", "rechecked").sum(),
        )
        .join(of_all, on=period, nulls_equal=True, maintain_order="left")
    )
    return by_wrench.filter(pl.col("rechecked") < pl.col("anchors"))


def read_found_out_of(
    con: duckdb.DuckDBPyConnection, logged: Mapping[str, object]
) -> dict[str, object] | None:
    """Return how the wrench of one installation was found out of tolerance, or None.

    `logged`: its row. Keys: wrench_code, calibrated_on (None where no calibration
    before is known), found_on. An abandoned attempt has no torque to be doubted.
    """
    if logged["wrench_code"] is None or logged["outcome"] == "abandoned":
        return None
    found = read_frame(
        con,
        """
        select * from found_out
        where
            wrench_code = $wrench_code
            and $installed_on >= coalesce(calibrated_on, '-infinity'::date)
            and $installed_on < found_on
        """,
        {name: logged[name] for name in ("wrench_code", "installed_on")},
    )
    return None if found.is_empty() else found.row(0, named=True)
