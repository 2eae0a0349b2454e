"""Keep the tallies in step with the installations that come, change and go."""

from collections.abc import Sequence

import duckdb

from queries.tally import (
    KEYS,
    MONTH_KEYS,
    by_month_sql,
    count_columns,
    counted_sql,
    signed_sql,
)


def change_tally(
    con: duckdb.DuckDBPyConnection,
    *,
    added: Sequence[str] = (),
    removed: Sequence[str] = (),
) -> None:
    """Count installations into both tallies, and others out, within a transaction.

    `added` and `removed` name relations of judged installations; one at least.
    """
    sign = "tally_sign" if removed else ""
    counted = counted_sql(signed_sql(added, removed), sign=sign)
    con.execute(f"create or replace temp table tally_change as {counted}")
    _change(con, "tally", KEYS)
    con.execute(
        "create or replace temp table tally_month_change as "
        f"{by_month_sql('tally_change')}"
    )
    _change(con, "tally_month", MONTH_KEYS)


def _change(con: duckdb.DuckDBPyConnection, table: str, keys: Sequence[str]) -> None:
    """Add the relation {table}_change to a tally.

    Rows are found by their keys first and changed by their rowids: a MERGE, which
    joins all columns, takes DuckDB ten times as long.
    """
    same_key = " and ".join(
        f"kept.{key} is not distinct from change.{key}" for key in keys
    )
    con.execute(
        f"""
        create or replace temp table tally_found as
        select kept.rowid as tally_id, change.*
        from {table} as kept
        inner join {table}_change as change on {same_key}
        """
    )
    [(found,)] = con.execute("select count(*) from tally_found").fetchall()
    if found:
        con.execute(
            f"update {table} as kept set {_CHANGES} from tally_found as change "
            "where kept.rowid = change.tally_id"
        )
    unknown = f"anti join tally_found as change on {same_key}" if found else ""
    columns = ", ".join((*keys, *count_columns()))
    con.execute(
        f"insert into {table} ({columns}) "
        f"select {columns} from {table}_change as kept {unknown}"
    )


_CHANGES = ", ".join(
    f"{name} = kept.{name} + change.{name}" for name in count_columns()
)
