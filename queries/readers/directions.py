"""On which side of the limit a crew's nonconforming anchors lie."""

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import CHECK_NAMES, verdict_rows_sql
from queries.readers.rates import require_known
from queries.selection import Selection


def read_directions(
    con: duckdb.DuckDBPyConnection,
    check_name: str,
    selection: Selection,
    by: str = "crew",
) -> pl.DataFrame:
    """Return a row a crew or site (`by`): its code, check, direction, direction_share.

    direction: the side most of its nonconforming anchors lie on ("under", "over",
    "short", ... as in queries/checks/), null where the check has no sides;
    direction_share its share of them. Reads the nonconforming rows only.
    """
    require_known("check", [check_name], CHECK_NAMES)
    require_known("key", [by], ("crew", "site"))
    judged = verdict_rows_sql(f"({_NONCONFORMING_SQL})", (check_name,))
    return read_frame(
        con,
        f"""
        with counted as (
            select
                {by}_code as {by},
                {check_name}__direction as direction,
                count(*) as sided_count
            from ({judged})
            group by all
        )
        select
            {by},
            $check_name as "check",
            direction,
            sided_count / sum(sided_count) over (partition by {by}) as direction_share
        from counted
        qualify
            row_number() over (
                partition by {by} order by sided_count desc, direction
            ) = 1
        order by {by}
        """,
        {
            "check_name": check_name,
            "bit": CHECK_NAMES.index(check_name),
            **selection.parameters(),
        },
    )


_NONCONFORMING_SQL = """
select installation.*
from installation
inner join setting_data
    on installation.setting_code = setting_data.setting_code
where
    (installation.nonconforming_mask >> $bit::uinteger) & 1 = 1
    and ($from_on is null or installation.installed_on >= $from_on::date)
    and ($to_on is null or installation.installed_on <= $to_on::date)
    and ($site_codes is null or list_contains($site_codes, installation.site_code))
    and ($crew_codes is null or list_contains($crew_codes, installation.crew_code))
    and (
        $anchor_sizes is null
        or list_contains($anchor_sizes, setting_data.anchor_size)
    )
"""
