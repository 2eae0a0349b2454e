"""What there is to choose from in the filter bar."""

from dataclasses import dataclass
from datetime import date

import duckdb


@dataclass(frozen=True)
class Choices:
    """The values an edition holds. Sites as (code, name), sizes by diameter."""

    sites: tuple[tuple[str, str], ...]
    crew_codes: tuple[str, ...]
    anchor_sizes: tuple[str, ...]
    first_on: date | None
    last_on: date | None


def read_choices(con: duckdb.DuckDBPyConnection) -> Choices:
    """Return the sites, crews, sizes and span of dates that have installations."""
    first_on, last_on = con.execute(
        "select min(installed_on), max(installed_on) from tally"
    ).fetchall()[0]
    sites = con.execute(
        "select site_code, site_name from site order by site_code"
    ).fetchall()
    crews = con.execute(
        "select distinct crew_code from tally_month order by crew_code"
    ).fetchall()
    sizes = con.execute(
        """
        select anchor_size from anchor_size
        where anchor_size in (select anchor_size from tally_month)
        order by diameter_mm, anchor_size
        """
    ).fetchall()
    return Choices(
        sites=tuple((code, name) for code, name in sites),
        crew_codes=tuple(code for (code,) in crews),
        anchor_sizes=tuple(size for (size,) in sizes),
        first_on=first_on,
        last_on=last_on,
    )
