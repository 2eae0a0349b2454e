"""The nonconforming anchors to look at first."""

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import CHECK_NAMES
from queries.selection import Selection


def read_lowest_ratios(
    con: duckdb.DuckDBPyConnection, selection: Selection, limit: int
) -> pl.DataFrame:
    """Return so many anchors of lowest indicative cone ratio, nonconforming anywhere.

    Columns: site_code, record_id, installed_on, crew_code, anchor_size,
    nonconforming_checks (list of check names), cone_ratio (a fraction below 1),
    file_name, source_row. Of equal ratios the newest first. The checks of the
    selection do not matter. `nonconforming_installation.sql` defines them.
    """
    return read_frame(
        con,
        """
        select
            site_code, record_id, installed_on, crew_code, anchor_size,
            list_filter(
                $names::varchar[],
                lambda name, i: (nonconforming_mask >> (i - 1)::uinteger) & 1 = 1
            ) as nonconforming_checks,
            cone_ratio,
            file_name, source_row
        from nonconforming_installation
        where
            cone_ratio < 1
            and ($from_on is null or installed_on >= $from_on::date)
            and ($to_on is null or installed_on <= $to_on::date)
            and ($site_codes is null or list_contains($site_codes, site_code))
            and ($crew_codes is null or list_contains($crew_codes, crew_code))
            and ($anchor_sizes is null or list_contains($anchor_sizes, anchor_size))
        order by cone_ratio, installed_on desc, site_code, record_id
        limit $limit
        """,
        {**selection.parameters(), "names": list(CHECK_NAMES), "limit": limit},
    )
