"""Settle records that are named more than once: duplicates, conflicts, revisions.

Works on the rows as they stand in the ledger, the file's own included. Most files name
each record once and none that is held; then it costs one look-up of its records.
"""

from pathlib import Path

import duckdb

from etl.claims import (
    HELD_TABLES,
    WHOLE_TABLES,
    contest_arriving,
    contest_leaving,
    gather_claims,
)
from etl.receipt import FATES
from etl.rejudge import has_calibrations
from etl.tally import change_tally
from queries.columns import LOGGED_NAMES
from queries.judgement import JUDGED_NAMES, judgement_sql

FATE_SQL = "create or replace temp macro fate_of(without_file) as table " + (
    Path(__file__).parent / "fate.sql"
).read_text("utf-8")


def settle_arriving(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> int:
    """Settle a file whose rows were put into installation; return rows displaced.

    Fills the temporary table `fate` with what became of every claim on a contested
    record. The tally follows by tally_settled. Displaced are rows of other files whose
    content counted before.
    """
    contest_arriving(con, site_code, source_file_id)
    _compute_fate(con, site_code, leaving=None)
    _gather_moved(con)
    _judge_returning(con)
    _move(con)
    return _follow_in_receipts(con, source_file_id, before_without=source_file_id)


def settle_leaving(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> None:
    """Let the other files' rows take the places that a file's rows will leave."""
    contest_leaving(con, site_code, source_file_id)
    _compute_fate(con, site_code, leaving=source_file_id)
    _gather_moved(con)
    _judge_returning(con)
    _move(con)
    _follow_in_receipts(con, source_file_id, before_without=None)


def _compute_fate(
    con: duckdb.DuckDBPyConnection, site_code: str, *, leaving: int | None
) -> None:
    is_any = con.execute("select count(*) from contested_record").fetchall()[0][0]
    if not is_any:
        # The empty tables, without planning what fills them.
        con.execute(
            """
            create or replace temp table fate (
                record_id varchar, revision integer, source_file_id integer,
                source_row bigint, place varchar, fate varchar, place_after varchar
            )
            """
        )
        return
    gather_claims(con, site_code)
    con.execute(FATE_SQL)
    con.execute(
        "create or replace temp table fate as select * from fate_of($leaving)",
        {"leaving": leaving},
    )


def _gather_moved(con: duckdb.DuckDBPyConnection) -> None:
    """Fill `moved` with the whole rows that change places, and where they go."""
    con.execute(
        """
        create or replace temp table moved as
        select
            *, 0::bigint as place_id, ''::varchar as place, ''::varchar as place_after
        from installation where false
        """
    )
    moves = con.execute(
        "select distinct place from fate where place != place_after"
    ).fetchall()
    if any(place in WHOLE_TABLES for (place,) in moves):
        con.execute(
            """
            insert into moved
            select whole.* exclude (content), fate.place_after
            from whole_claim as whole
            inner join fate using (source_file_id, source_row, place)
            where place != fate.place_after
            """
        )
    if ("repeated_row",) in moves:
        _gather_moved_repeats(con)


def _gather_moved_repeats(con: duckdb.DuckDBPyConnection) -> None:
    """A row that was only said again gets the columns of the row that was held."""
    con.execute(
        """
        insert into moved
        select
            held.* exclude (content) replace (
                again.source_file_id as source_file_id,
                again.source_row as source_row,
                again.place_id as place_id,
                'repeated_row' as place
            ),
            fate.place_after
        from fate
        inner join claim as again using (source_file_id, source_row)
        inner join whole_claim as held
            on
                again.record_id = held.record_id
                and again.revision = held.revision
                and again.content = held.content
        where
            fate.place = 'repeated_row'
            and fate.place != fate.place_after
            and list_contains($held, held.place)
        -- A claim of the arriving file may stand beside the one that was held.
        qualify row_number() over (
            partition by again.source_file_id, again.source_row
            order by held.source_file_id, held.source_row
        ) = 1
        """,
        {"held": list(HELD_TABLES)},
    )


def _judge_returning(con: duckdb.DuckDBPyConnection) -> None:
    """Judge rows that come back by the sheets of today.

    Only current rows are judged again when sheets change. How often their wrenches
    were used is looked at once the rows are back.
    """
    returning = "place != 'installation' and place_after = 'installation'"
    if con.execute(f"select count(*) from moved where {returning}").fetchall() == [
        (0,)
    ]:
        return
    judged = judgement_sql(
        f"(select * exclude ({', '.join(JUDGED_NAMES)}) from moved where {returning})",
        with_calibrations=has_calibrations(con),
    )
    con.execute(f"create or replace temp table judged_anew as {judged}")
    con.execute(f"delete from moved where {returning}")
    con.execute("insert into moved by name select * from judged_anew")


def _move(con: duckdb.DuckDBPyConnection) -> None:
    """Take the moved rows out of their places and put them where they go."""
    moves = con.execute("select distinct place, place_after from moved").fetchall()
    if not moves:
        return
    for place in sorted({place for place, _ in moves}):
        con.execute(
            f"""
            delete from {place}
            where rowid in (select place_id from moved where place = '{place}')
            """
        )
    for place in sorted({after for _, after in moves}):
        columns = (
            "site_code, record_id, revision, source_file_id, source_row"
            if place == "repeated_row"
            else "* exclude (place_id, place, place_after)"
        )
        con.execute(
            f"insert into {place} select {columns} from moved "
            f"where place_after = '{place}'"
        )


def tally_settled(
    con: duckdb.DuckDBPyConnection, source_file_id: int, *, is_leaving: bool
) -> None:
    """Have the tally follow a file that was settled and the rows that moved for it.

    The file's own rows stand in installation; they come, or are about to leave.
    """
    own = f"(from installation where source_file_id = {source_file_id})"
    came, went = [], []
    if con.execute("select 1 from moved limit 1").fetchall():
        others = f"from moved where source_file_id != {source_file_id}"
        came = [f"({others} and place_after = 'installation')"]
        went = [f"({others} and place = 'installation')"]
    (went if is_leaving else came).append(own)
    change_tally(con, added=came, removed=went)


def _follow_in_receipts(
    con: duckdb.DuckDBPyConnection, own_file_id: int, *, before_without: int | None
) -> int:
    """Bring other files' receipts and rejected rows up to date with their rows' fates.

    Return how many rows that counted before count no more.
    """
    held_change = con.execute(
        """
        select count(*) from moved
        where
            source_file_id != $own_file_id
            and (
                place in ('conflicting_installation', 'repeated_row')
                or place_after in ('conflicting_installation', 'repeated_row')
            )
        """,
        {"own_file_id": own_file_id},
    ).fetchall()
    # Who leaves may leave another's row the first of its record, where it stands.
    is_leaving = before_without is None
    is_shared = con.execute("select 1 from fate limit 1").fetchall() != []
    if held_change == [(0,)] and not (is_leaving and is_shared):
        return 0
    con.execute(
        "create or replace temp table fate_before as select * from fate_of($without)",
        {"without": before_without},
    )
    changes = ", ".join(
        f"{fate} = source_file.{fate} + changed.{fate}" for fate in FATES
    )
    counts = ", ".join(
        f"count(*) filter (now.fate = '{fate}')"
        f" - count(*) filter (was.fate = '{fate}') as {fate}"
        for fate in FATES
    )
    con.execute(
        f"""
        update source_file set {changes}
        from (
            select source_file_id, {counts}
            from fate_before as was
            inner join fate as now using (source_file_id, source_row)
            where was.fate != now.fate
            group by source_file_id
        ) as changed
        where source_file.source_file_id = changed.source_file_id
        """
    )
    return _follow_in_rejected(con)


def _follow_in_rejected(con: duckdb.DuckDBPyConnection) -> int:
    con.execute(
        """
        delete from rejected_row
        where (source_file_id, source_row) in (
            select (was.source_file_id, was.source_row)
            from fate_before as was
            inner join fate as now using (source_file_id, source_row)
            where was.fate = 'rejected' and now.fate != 'rejected'
        )
        """
    )
    stored = ", ".join(f"{name} := moved.{name}" for name in LOGGED_NAMES)
    con.execute(
        f"""
        create or replace temp table displaced as
        select
            moved.source_file_id, moved.source_row, moved.record_id, moved.revision,
            to_json(struct_pack({stored}))::varchar as stored
        from moved
        inner join fate_before as was using (source_file_id, source_row)
        where
            moved.place_after = 'conflicting_installation'
            and was.fate != 'rejected'
        """
    )
    con.execute(
        """
        insert into rejected_row
        select
            displaced.source_file_id, displaced.source_row, 'displaced',
            'record ' || displaced.record_id || ' revision ' || displaced.revision
            || ' came again with other content, which counts: it has fewer gaps, or '
            || 'as many and comes first by its text; expected a higher revision for '
            || 'the one that is right',
            stored, displaced.record_id,
            -- Overruled by a revision that came after it; else open once, where it
            -- came last.
            coalesce(
                above.source_file_id,
                nullif(
                    max(displaced.source_file_id) over (
                        partition by
                            displaced.record_id, displaced.revision, displaced.stored
                    ),
                    displaced.source_file_id
                )
            ),
            displaced.revision
        from displaced
        left join (
            select record_id, max_by(source_file_id, revision) as source_file_id,
                max(revision) as revision
            from whole_claim
            where place in ('installation', 'superseded_installation')
            group by record_id
        ) as above
            on
                displaced.record_id = above.record_id
                and displaced.revision < above.revision
                and displaced.source_file_id < above.source_file_id
        """
    )
    return int(con.execute("select count(*) from displaced").fetchall()[0][0])
