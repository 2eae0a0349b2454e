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

    `added` and `removed` name relations of judged installations; one at least. Rows
    are found by their keys first and changed by their rowids: a MERGE, which joins
    all columns, takes DuckDB ten times as long.
    """
    sign = "tally_sign" if removed else ""
    counted = counted_sql(signed_sql(added, removed), sign=sign)
    con.execute(f"create or replace temp table tally_change as {counted}")
    con.execute(
        f"""
        create or replace temp table tally_found as
        select tally.rowid as tally_id, change.*
        from tally
        inner join tally_change as change on {_SAME_KEY}
        """
    )
    [(found,)] = con.execute("select count(*) from tally_found").fetchall()
    if found:
        con.execute(
            f"update tally set {_CHANGES} from tally_found as change "
            "where tally.rowid = change.tally_id"
        )
    unknown = f"anti join tally_found as change on {_SAME_KEY}" if found else ""
    con.execute(
        f"insert into tally ({_COLUMNS}) "
        f"select {_COLUMNS} from tally_change as tally {unknown}"
    )


_SAME_KEY = " and ".join(
    f"tally.{key} is not distinct from change.{key}" for key in KEYS
)
_CHANGES = ", ".join(
    f"{name} = tally.{name} + change.{name}" for name in count_columns()
)
