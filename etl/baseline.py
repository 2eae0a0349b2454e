"""Record in the ledger from which dates a trend's limits come."""

import duckdb

from etl.change import change_store
from etl.receipt import note_change
from queries.readers.baselines import RecordedBaseline
from queries.store import Store


def record_baseline(
    store: Store, recorded: RecordedBaseline, *, wait_s: float = 0
) -> int:
    """Append a baseline to the ledger and publish; return the new edition's number.

    Another load's end is awaited for `wait_s` seconds. Raises FirmsetError where the
    store is busy for longer or damaged. Nothing recorded is ever changed.
    """
    _, edition_id = change_store(
        store,
        lambda con: _append(con, recorded),
        now=recorded.set_at,
        reason="baseline",
        wait_s=wait_s,
    )
    return edition_id


def _append(con: duckdb.DuckDBPyConnection, recorded: RecordedBaseline) -> None:
    con.execute("begin")
    con.execute(
        """
        insert into baseline
        select
            coalesce(max(baseline_id), 0) + 1,
            $check_name, $period, $site_codes, $crew_codes, $anchor_sizes,
            $from_on, $to_on, $author, $reason, $set_at
        from baseline
        """,
        {
            **vars(recorded.stream),
            "from_on": recorded.from_on,
            "to_on": recorded.to_on,
            "author": recorded.author,
            "reason": recorded.reason,
            "set_at": recorded.set_at,
        },
    )
    note_change(con, recorded.set_at, "baseline")
    con.execute("commit")
