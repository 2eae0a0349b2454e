"""Files whose values lie as if another unit had been typed: questions, not work."""

from dataclasses import dataclass

import duckdb

# How such a remark of a receipt ends (etl/clusters.py).
UNITS_ASKED = "a question about units for the site; nothing was changed"


@dataclass(frozen=True)
class UnitQuestion:
    """What a receipt asks about the units of one column, without the request."""

    site_code: str
    file_name: str
    said: str


def read_unit_questions(con: duckdb.DuckDBPyConnection) -> tuple[UnitQuestion, ...]:
    """Return what receipts in force ask about units, the newest first.

    Of files of whose rows at least half count today: what was sent again, or taken
    back, asks nothing any more.
    """
    rows = con.execute(
        """
        with asking as materialized (
            select source_file_id, site_code, file_name, loaded + revised as taken,
                list_filter(remarks, lambda said: ends_with(said, $asked)) as asked
            from source_file
            where unloaded_at is null and asked != []
        ),

        counting as (
            select source_file_id, count(*) as held
            from installation
            where source_file_id in (select source_file_id from asking)
            group by source_file_id
        )

        select site_code, file_name, unnest(asked)
        from asking
        inner join counting using (source_file_id)
        where 2 * held >= taken
        order by source_file_id desc
        """,
        {"asked": UNITS_ASKED},
    ).fetchall()
    return tuple(
        UnitQuestion(site, name, said.removesuffix(UNITS_ASKED).rstrip(": "))
        for site, name, said in rows
    )
