"""Keep the counts that signs of doubtful batches come from in step with the rows.

A batch (site, crew and day) is counted as a whole: whether a row repeats the one before
depends on both. So a change of the tally only notes the batches it concerns, and they
are counted once, before an edition is sealed.
"""

import duckdb

from queries.batch_parts import batch_parts

KEPT = {"batch_tally": "batch_count", "batch_time_tally": "batch_time_count"}
_BATCH = "(site_code, crew_code, installed_on)"


def note_stale(con: duckdb.DuckDBPyConnection, changed: str) -> None:
    """Note the batches of a relation with site_code, crew_code and installed_on.

    Within the transaction that changes their rows.
    """
    con.execute(
        f"""
        insert into stale_batch
        select distinct site_code, crew_code, installed_on from {changed}
        where {_BATCH} not in (select {_BATCH} from stale_batch)
        """
    )


def count_stale(con: duckdb.DuckDBPyConnection) -> None:
    """Count the batches that were noted, in one transaction of its own."""
    if not con.execute("select 1 from stale_batch limit 1").fetchall():
        return
    con.execute("begin")
    try:
        parts = batch_parts(con, "stale_batch")
        for table, counted in KEPT.items():
            con.execute(
                f"delete from {table} where {_BATCH} in (select {_BATCH} "
                "from stale_batch)"
            )
            for part in parts:
                con.execute(
                    f"insert into {table} by name "
                    f"from {counted}($from_on, $to_on, $batch_keys)",
                    part.parameters,
                )
        con.execute("delete from stale_batch")
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
