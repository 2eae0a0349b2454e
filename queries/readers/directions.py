"""On which side of the limit a crew's nonconforming anchors lie."""

from collections.abc import Sequence

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import CHECK_NAMES, verdict_rows_sql
from queries.readers.rates import require_known
from queries.selection import Selection


def read_directions(
    con: duckdb.DuckDBPyConnection,
    check_names: Sequence[str],
    selection: Selection,
    by: str = "crew",
) -> pl.DataFrame:
    """Return a row a crew or site (`by`) and check with a nonconforming anchor.

    Columns: `by`, check, direction, direction_share.
    direction: the side most of its nonconforming anchors lie on ("under", "over",
    "short", ... as in queries/checks/), null where the check has no sides;
    direction_share its share of them. Reads the nonconforming rows only.
    """
    require_known("check", check_names, CHECK_NAMES)
    require_known("key", [by], ("crew", "site"))
    bits = [1 << CHECK_NAMES.index(name) for name in check_names]
    judged = verdict_rows_sql(f"({_NONCONFORMING_SQL})", check_names)
    sides = ", ".join(
        f"{{'check': '{name}', 'direction': {name}__direction, "
        f"'is_found': nonconforming_mask & {bit} != 0}}"
        for name, bit in zip(check_names, bits, strict=True)
    )
    return read_frame(
        con,
        f"""
        with sided as (
            select {by}_code as {by}, unnest([{sides}], recursive := true)
            from ({judged})
        ),

        counted as (
            select {by}, "check", direction, count(*) as sided_count
            from sided
            where is_found
            group by all
        )

        select
            {by},
            "check",
            direction,
            sided_count / sum(sided_count) over one_pair as direction_share
        from counted
        window one_pair as (partition by {by}, "check")
        qualify
            row_number() over (
                partition by {by}, "check" order by sided_count desc, direction
            ) = 1
        order by {by}, list_position({list(check_names)}, "check")
        """,
        {"mask": sum(bits), **selection.parameters()},
    )


_NONCONFORMING_SQL = """
select installation.*
from installation
inner join setting_data
    on installation.setting_code = setting_data.setting_code
where
    installation.nonconforming_mask & $mask::uinteger != 0
    and ($from_on is null or installation.installed_on >= $from_on::date)
    and ($to_on is null or installation.installed_on <= $to_on::date)
    and ($site_codes is null or list_contains($site_codes, installation.site_code))
    and ($crew_codes is null or list_contains($crew_codes, installation.crew_code))
    and (
        $anchor_sizes is null
        or list_contains($anchor_sizes, setting_data.anchor_size)
    )
"""
