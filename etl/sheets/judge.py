"""Judge installations again when what they are judged by has changed."""

from collections.abc import Callable
from dataclasses import dataclass

import duckdb

from etl.rejudge import has_calibrations, rejudge_uses
from etl.tally import change_tally
from queries.judgement import JUDGED_NAMES, MASKS, judgement_sql


@dataclass(frozen=True)
class JudgedAgain:
    """How many installations were judged again, and how many verdicts changed.

    A verdict is one check of one installation.
    """

    installations: int
    changed_verdicts: int

    def in_words(self) -> str:
        """Return the remark for a receipt."""
        return (
            f"{_plural(self.installations, 'installation')} judged again, "
            f"{_plural(self.changed_verdicts, 'verdict')} changed"
        )


def _plural(count: int, noun: str) -> str:
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def judge_again(
    con: duckdb.DuckDBPyConnection, column: str, replace: Callable[[], None]
) -> JudgedAgain:
    """Call `replace`, and judge the installations again that it touches.

    `column` of installation holds one of the codes in the temporary table
    `touched_code` (column code) where an installation is touched. The tally follows.
    Runs in the caller's transaction.
    """
    touched = f"(from installation where {column} in (select code from touched_code))"
    [(count,)] = con.execute(f"select count(*) from {touched}").fetchall()
    if not count:
        replace()
        return JudgedAgain(0, 0)
    # Before the change: the tally's rows carry the size that the old rows gave.
    change_tally(con, removed=[touched])
    replace()
    _judge_touched(con, touched)
    con.execute(
        f"delete from installation where {column} in (select code from touched_code)"
    )
    held = ", ".join(f"held_{name}" for name in JUDGED_NAMES)
    con.execute(
        f"insert into installation by name select * exclude ({held}) from judged"
    )
    change_tally(con, added=["judged"])
    rejudge_uses(con, "judged")
    changed = _changed_verdicts(con)
    con.execute("drop table judged")
    return JudgedAgain(int(count), changed)


def _judge_touched(con: duckdb.DuckDBPyConnection, touched: str) -> None:
    """Fill the temporary table `judged`; what was held before is named held_."""
    renamed = ", ".join(f"{name} as held_{name}" for name in JUDGED_NAMES)
    con.execute(
        "create or replace temp table judged as "
        + judgement_sql(
            f"(select * rename ({renamed}) from {touched})",
            with_calibrations=has_calibrations(con),
        )
    )


def _changed_verdicts(con: duckdb.DuckDBPyConnection) -> int:
    """Count the verdicts that differ from those held before, uses of wrenches too."""
    # A verdict that changes leaves one mask and enters another, or none.
    differences = " | ".join(
        f"xor(installation.{mask}, judged.held_{mask})" for mask in MASKS
    )
    [(changed,)] = con.execute(
        f"""
        select sum(bit_count(({differences})::bigint))::bigint
        from judged
        inner join installation using (source_file_id, source_row)
        """
    ).fetchall()
    return int(changed)
