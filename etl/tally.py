"""Keep the tallies in step with the installations that come, change and go."""

from collections.abc import Sequence

import duckdb

from etl.batch_tally import note_stale
from queries.tally import (
    KEYS,
    MONTH_KEYS,
    by_month_sql,
    count_columns,
    counted_sql,
    month_keys_sql,
    signed_sql,
)


def change_tally(
    con: duckdb.DuckDBPyConnection,
    *,
    added: Sequence[str] = (),
    removed: Sequence[str] = (),
    only_verdicts: bool = False,
) -> None:
    """Count installations into both tallies, and others out, within a transaction.

    `added` and `removed` name relations of judged installations; one at least. Their
    batches will be counted anew, unless `only_verdicts` of theirs differ.
    """
    sign = "tally_sign" if removed else ""
    counted = counted_sql(signed_sql(added, removed), sign=sign)
    con.execute(f"create or replace temp table tally_change as {counted}")
    _change(con, "tally", KEYS, "tally_change", "tally_change")
    _change(
        con,
        "tally_month",
        MONTH_KEYS,
        f"({by_month_sql('tally_change')})",
        f"({month_keys_sql('tally_change')})",
    )
    if not only_verdicts:
        note_stale(con, "tally_change")


def _change(
    con: duckdb.DuckDBPyConnection,
    table: str,
    keys: Sequence[str],
    change: str,
    change_keys: str,
) -> None:
    """Add a relation, with the columns of a tally, to that tally.

    A row of no installation any more is dropped: its day, crew and site would still be
    taken for days, crews and sites with work.

    `change_keys`: its keys alone, also where they repeat, which are planned sooner.
    Rows that change are written anew and the old ones deleted: an UPDATE would have
    the checkpoint write every block of all count columns again, as large as the tally
    is. They are found by their days first, which are cheap to compare.
    """
    time, *names = keys
    same_key = f"kept.{time} = change.{time}" + "".join(
        f" and kept.{name} is not distinct from change.{name}" for name in names
    )
    [(found,)] = con.execute(
        f"""
        create or replace temp table tally_found as
        with change as materialized (
            select distinct {", ".join(keys)} from {change_keys}
        )
        select kept.rowid as tally_id
        from (
            select rowid, {", ".join(keys)} from {table}
            where {time} in (select {time} from change)
        ) as kept
        semi join change on {same_key}
        """
    ).fetchall()
    if not found:
        con.execute(f"insert into {table} by name select * from {change}")
        return
    con.execute(
        f"""
        insert into {table} ({", ".join((*keys, *count_columns()))})
        select {", ".join(f"change.{key}" for key in keys)}, {_SUMS}
        from {change} as change
        left join (
            select * from {table} where rowid in (select tally_id from tally_found)
        ) as kept on {same_key}
        where change.installations + coalesce(kept.installations, 0) != 0
        """
    )
    con.execute(
        f"delete from {table} where rowid in (select tally_id from tally_found)"
    )


_SUMS = ", ".join(
    f"change.{name} + coalesce(kept.{name}, 0)" for name in count_columns()
)
