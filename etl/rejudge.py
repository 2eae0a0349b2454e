"""Judge installations again where something else than their own row has changed."""

import duckdb

from etl.tally import change_tally
from queries.judgement import MASKS
from queries.wrench_use import (
    changed_verdicts_sql,
    overused_periods_sql,
    touched_periods_sql,
)


def has_calibrations(con: duckdb.DuckDBPyConnection) -> bool:
    """Say whether any wrench's calibration is known."""
    return bool(con.execute("select 1 from wrench_calibration limit 1").fetchall())


def touched_wrenches_sql(source_file_id: int) -> str:
    """Return a relation of wrench_code and installed_on: the uses a file may change.

    Those of its own rows, and of other files' rows that changed places for it (the
    table `moved` of etl/resolve.py).
    """
    return f"""(
        select wrench_code, installed_on from installation
        where source_file_id = {source_file_id}
        union
        select wrench_code, installed_on from moved
    )"""


def rejudge_uses(con: duckdb.DuckDBPyConnection, touched: str) -> int:
    """Judge again where a wrench's uses may have become too many, or fewer again.

    `touched` names a relation with wrench_code and installed_on: of the rows that
    came, changed or went. Only rows of the same calibrations can have changed for
    them. Within a load's transaction, after its rows are in installation and in the
    tally. Returns how many verdicts changed.
    """
    if not has_calibrations(con):
        return 0
    [(touched_periods,)] = con.execute(
        f"create or replace temp table touched_period as {touched_periods_sql(touched)}"
    ).fetchall()
    if not touched_periods:
        return 0
    [(overused,)] = con.execute(
        "create or replace temp table overused_period as "
        f"{overused_periods_sql('touched_period')}"
    ).fetchall()
    return _rejudge_periods(con, "overused_period") if overused else 0


def _rejudge_periods(con: duckdb.DuckDBPyConnection, periods: str) -> int:
    """Judge every installation of some calibrations again by the check torque_tool.

    `periods` names a relation as of touched_periods_sql. The tally follows. Returns
    how many verdicts changed.
    """
    con.execute(
        f"create or replace temp table rejudged as {changed_verdicts_sql(periods)}"
    )
    [(changed,)] = con.execute("select count(*) from rejudged").fetchall()
    if changed:
        right = f"(select {_RIGHT} from rejudged)"
        change_tally(con, added=[right], removed=["rejudged"], only_verdicts=True)
        _take_over_masks(con)
    return int(changed)


_RIGHT = "* replace (" + ", ".join(f"right_{mask} as {mask}" for mask in MASKS) + ")"


def _take_over_masks(con: duckdb.DuckDBPyConnection) -> None:
    changes = ", ".join(f"{mask} = rejudged.right_{mask}" for mask in MASKS)
    con.execute(
        f"""
        update installation set {changes}
        from rejudged
        where
            installation.source_file_id = rejudged.source_file_id
            and installation.source_row = rejudged.source_row
        """
    )
