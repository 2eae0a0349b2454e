"""Which sites have gone quiet: they have no bad figures, and no good ones either."""

from datetime import date, timedelta

import duckdb

# So long after a site's last anchor it is named as quiet (project default).
QUIET_AFTER = timedelta(days=60)


def read_quiet_sites(
    con: duckdb.DuckDBPyConnection, to_on: date | None
) -> list[tuple[str, date]]:
    """Return (site_code, its last day with an anchor) of the quiet, longest first.

    Held against the last day on which any site set an anchor, up to `to_on`.
    """
    return con.execute(
        """
        with sent as (
            select site_code, max(installed_on) as last_on
            from tally
            where $to_on is null or installed_on <= $to_on::date
            group by site_code
        )

        select site_code, last_on
        from sent
        where (select max(last_on) from sent) - last_on >= $days
        order by last_on, site_code
        """,
        {"to_on": to_on, "days": QUIET_AFTER.days},
    ).fetchall()
