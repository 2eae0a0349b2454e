"""Judge every installation of a store again, and publish what comes of it."""

from datetime import datetime

import duckdb

from etl.change import change_store
from etl.receipt import note_change
from etl.rejudge import has_calibrations, rejudge_uses
from etl.tally import change_tally
from queries.errors import FirmsetError
from queries.judgement import JUDGED_NAMES, judgement_sql
from queries.store import Store


def judge_store(
    store: Store,
    now: datetime,
    torque_guard_frac: float | None = None,
    *,
    wait_s: float = 0,
) -> tuple[int, int]:
    """Judge all current rows against setting data and options, in one transaction.

    `torque_guard_frac`: the guard band from now on, a fraction of the setting torque
    (0 is off); None leaves it as it is. `now` is the clock (UTC). Another load's end is
    awaited for `wait_s` seconds. Returns how many installations were judged
    and the edition published. Raises FirmsetError where a guard band leaves nothing
    of a torque band. Superseded revisions keep the verdicts they had.
    """
    if not store.ledger_path.exists():
        raise FirmsetError(f"{store.ledger_path}: no such store; load something first")
    return change_store(
        store,
        lambda con: _judge_once(con, now, torque_guard_frac),
        now=now,
        reason="judge",
        wait_s=wait_s,
    )


def _judge_once(
    con: duckdb.DuckDBPyConnection, now: datetime, torque_guard_frac: float | None
) -> int:
    con.execute("begin")
    try:
        if torque_guard_frac is not None:
            _set_guard(con, torque_guard_frac)
        judged = _judge_all(con)
        note_change(con, now, "judge")
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise
    return judged


def _set_guard(con: duckdb.DuckDBPyConnection, torque_guard_frac: float) -> None:
    con.execute("update judging_option set torque_guard_frac = ?", [torque_guard_frac])
    empty = con.execute(
        "select setting_code from requirement "
        "where lowest_torque_nm > highest_torque_nm order by setting_code"
    ).fetchall()
    if empty:
        raise FirmsetError(
            f"a guard band of {torque_guard_frac:g} leaves no torque that conforms "
            f"for {', '.join(code for (code,) in empty)}; expected less"
        )


def _judge_all(con: duckdb.DuckDBPyConnection) -> int:
    """Replace the verdicts of every current row, and the tallies."""
    unjudged = f"(select * exclude ({', '.join(JUDGED_NAMES)}) from installation)"
    con.execute(
        "create or replace temp table judged_again as "
        + judgement_sql(unjudged, with_calibrations=has_calibrations(con))
    )
    con.execute("delete from installation")
    con.execute("insert into installation by name select * from judged_again")
    con.execute("delete from tally; delete from tally_month")
    change_tally(con, added=["installation"])
    rejudge_uses(con, "judged_again")
    [(judged,)] = con.execute("select count(*) from judged_again").fetchall()
    con.execute("drop table judged_again")
    return int(judged)
