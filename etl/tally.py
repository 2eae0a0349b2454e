"""Keep the tally in step with the installations that come, change and go."""

from collections.abc import Sequence

import duckdb

from queries.tally import KEYS, count_columns, counted_sql, signed_sql

_COLUMNS = ", ".join((*KEYS, *count_columns()))


def change_tally(
    con: duckdb.DuckDBPyConnection,
    *,
    added: Sequence[str] = (),
    removed: Sequence[str] = (),
) -> None:
    """Count installations into the tally, and others out of it, within a transaction.

    `added` and `removed` name relations of judged installations; one at least. Rows of
    the tally that change are taken out and put in again with their new counts: DuckDB
    takes two to ten times as long to update some 60 columns in their place.
    """
    counted = counted_sql(signed_sql(added, removed), sign="tally_sign")
    con.execute(f"create or replace temp table tally_change as {counted}")
    con.execute(
        f"""
        create or replace temp table tally_touched as
        select tally.rowid as tally_id, tally.*
        from tally
        semi join tally_change as change on {_SAME_KEY}
        """
    )
    [(touched,)] = con.execute("select count(*) from tally_touched").fetchall()
    if touched:
        _replace_touched(con)
    else:
        con.execute(
            f"insert into tally ({_COLUMNS}) select {_COLUMNS} from tally_change "
            "where installations != 0"
        )


_SAME_KEY = " and ".join(
    f"tally.{key} is not distinct from change.{key}" for key in KEYS
)


def _replace_touched(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("delete from tally where rowid in (select tally_id from tally_touched)")
    sums = ", ".join(f"sum({name})::integer as {name}" for name in count_columns())
    con.execute(
        f"""
        insert into tally ({_COLUMNS})
        select {", ".join(KEYS)}, {sums}
        from (
            select {_COLUMNS} from tally_touched
            union all
            select {_COLUMNS} from tally_change
        )
        group by {", ".join(KEYS)}
        having sum(installations) != 0
        """
    )
