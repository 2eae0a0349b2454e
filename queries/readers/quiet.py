"""Which sites have gone quiet: they have no bad figures, and no good ones either."""

from datetime import date, timedelta

import duckdb

from queries.selection import Selection

# So long after a site's last anchor it is named as quiet (project default).
QUIET_AFTER = timedelta(days=60)


def read_quiet_sites(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> list[tuple[str, date]]:
    """Return (site_code, its last day with an anchor) of the quiet, longest first.

    Held against the last day on which any site set an anchor, up to the last day
    chosen; the first day, crews, sizes and checks chosen make no site quiet. A filter
    on sites chooses which are said.
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
        where ($site_codes is null or list_contains($site_codes, site_code))
            and (select max(last_on) from sent) - last_on >= $days
        order by last_on, site_code
        """,
        {
            "to_on": selection.to_on,
            "site_codes": list(selection.site_codes) or None,
            "days": QUIET_AFTER.days,
        },
    ).fetchall()
