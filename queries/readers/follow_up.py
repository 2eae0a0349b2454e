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
    selection do not matter. Ratios alone are looked through first: of ten million rows
    all the rest would be fetched and joined for ten.
    """
    return read_frame(
        con,
        """
        with lost as (
            select cone_ratio, installation.rowid as row_number
            from installation
            where
                nonconforming_mask != 0
                and cone_ratio < 1
                and ($from_on is null or installed_on >= $from_on::date)
                and ($to_on is null or installed_on <= $to_on::date)
                and ($site_codes is null or list_contains($site_codes, site_code))
                and ($crew_codes is null or list_contains($crew_codes, crew_code))
                and ($anchor_sizes is null or setting_code in (
                    select setting_code from setting_data
                    where list_contains($anchor_sizes, anchor_size)
                ))
        ),

        -- With all that share the last one's ratio.
        lowest as materialized (
            select row_number
            from lost
            where cone_ratio <= (
                select max(cone_ratio)
                from (select cone_ratio from lost order by cone_ratio limit $limit)
            )
        )

        select
            logged.site_code, logged.record_id, logged.installed_on, logged.crew_code,
            required.anchor_size,
            list_filter(
                $names::varchar[],
                lambda name, i: (logged.nonconforming_mask >> (i - 1)::uinteger) & 1 = 1
            ) as nonconforming_checks,
            logged.cone_ratio, source_file.file_name, logged.source_row
        from (
            select * from installation
            where rowid in (select row_number from lowest)
        ) as logged
        inner join setting_data as required using (setting_code)
        inner join source_file on logged.source_file_id = source_file.source_file_id
        order by cone_ratio, installed_on desc, site_code, record_id
        limit $limit
        """,
        {**selection.parameters(), "names": list(CHECK_NAMES), "limit": limit},
    )
