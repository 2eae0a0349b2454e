"""What only a sheet for paper asks of one site or crew."""

from datetime import date

import duckdb

from queries.selection import Selection


def read_span(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> tuple[date, date] | None:
    """Return the first and last day with an installation in the selection."""
    [(first_on, last_on)] = con.execute(
        """
        select min(installed_on), max(installed_on) from tally
        where ($from_on is null or installed_on >= $from_on::date)
            and ($to_on is null or installed_on <= $to_on::date)
            and ($site_codes is null or list_contains($site_codes, site_code))
            and ($crew_codes is null or list_contains($crew_codes, crew_code))
            and ($anchor_sizes is null or list_contains($anchor_sizes, anchor_size))
        """,
        selection.parameters(),
    ).fetchall()
    return None if first_on is None else (first_on, last_on)
