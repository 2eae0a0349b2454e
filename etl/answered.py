"""Rejected rows that other files answered: before they came, and when one leaves."""

import duckdb

from etl.conflicts_again import link_conflicts
from queries.readers.corrections import RECEIPT_HEADER, ROW_HEADER

# Conflicts are settled by a revision above theirs, not by their words.
_BY_REVISION = "('conflict', 'displaced')"


def link_answered(
    con: duckdb.DuckDBPyConnection, site_code: str | None, source_file_id: int
) -> None:
    """Link the file's own rejected rows that were answered before it came.

    A list that repeats all earlier weeks brings their faults again. A row of the same
    words whose fault was mended stays mended, and a conflict that was settled settled.
    So of no site.
    """
    if not _has_open(con, source_file_id):
        return
    _link_mended(con, site_code, source_file_id)
    if site_code is not None:
        link_conflicts(con, site_code, source_file_id)


def _link_mended(
    con: duckdb.DuckDBPyConnection, site_code: str | None, source_file_id: int
) -> None:
    """Link rows that came before and were mended since, as many as were.

    Of rows alike it does not matter which of them was.
    """
    con.execute(
        f"""
        with open_row as (
            select
                source_file_id, record_id, raw_text,
                {_cell_sql(RECEIPT_HEADER)} as of_file,
                {_cell_sql(ROW_HEADER)} as of_row
            from rejected_row
            where cleared_by is null and reason_code not in {_BY_REVISION}
        ),

        earlier_row as (
            select
                earlier.source_file_id,
                earlier.raw_text,
                earlier.cleared_by,
                -- Not mended by who came after it: its record, its words or, with the
                -- marks of rows given back, the row itself is open there.
                cleared_by is null
                or coalesce(
                    (cleared_by, record_id) in (
                        select (source_file_id, record_id) from open_row
                    ),
                    false
                )
                or (cleared_by, raw_text) in (
                    select (source_file_id, raw_text) from open_row
                )
                or coalesce(
                    (cleared_by, earlier.source_file_id::varchar, source_row::varchar)
                    in (select (source_file_id, of_file, of_row) from open_row),
                    false
                ) as is_open
            from rejected_row as earlier
            inner join source_file using (source_file_id)
            where
                site_code is not distinct from $site_code
                and source_file_id != $source_file_id
                and cleared_by is distinct from $source_file_id
                and (unloaded_at is null or cleared_by is not null)
                and reason_code not in {_BY_REVISION}
        ),

        -- As many as of one file were: more of it are other anchors.
        mended as (
            select raw_text, max(by_file) as by_file, max(times) as times
            from (
                select raw_text, max(cleared_by) as by_file, count(*) as times
                from earlier_row
                where not is_open
                group by source_file_id, raw_text
            )
            group by raw_text
        ),

        own as (
            select
                source_row,
                raw_text,
                row_number() over (partition by raw_text order by source_row) as nth
            from rejected_row
            where
                source_file_id = $source_file_id
                and cleared_by is null
                and reason_code not in {_BY_REVISION}
        )

        update rejected_row set cleared_by = by_file
        from own
        inner join mended using (raw_text)
        where
            own.nth <= mended.times
            and rejected_row.source_file_id = $source_file_id
            and rejected_row.source_row = own.source_row
        """,
        {"site_code": site_code, "source_file_id": source_file_id},
    )


def keep_answers(
    con: duckdb.DuckDBPyConnection, site_code: str | None, source_file_id: int
) -> None:
    """Open what a file that is taken back had cleared, but for what others answer too.

    Called once its rows are out of the ledger. Another answers who came after the
    rejected row, and holds the record (least_revision_sql) or has the same row among
    its rejected ones.
    """
    con.execute(
        f"""
        create or replace temp table reopened as
        select
            rejected_row.source_file_id, source_row, rejected_row.record_id, raw_text,
            reason_code in ('conflict', 'displaced') as is_conflict,
            {least_revision_sql("rejected_row")} as least_revision
        from rejected_row
        where cleared_by = $source_file_id
        """,
        {"source_file_id": source_file_id},
    )
    if con.execute("select count(*) from reopened").fetchall() == [(0,)]:
        return
    _gather_again(con, site_code, source_file_id)
    con.execute(
        f"""
        update rejected_row set cleared_by = answer.by_file
        from (
            select
                reopened.source_file_id, source_row,
                coalesce(max(again.cleared_by), max(held.source_file_id)) as by_file
            from reopened
            left join reopened_again as again using (source_file_id, source_row)
            left join {_held_sql()} as held
                on
                    reopened.record_id = held.record_id
                    and reopened.source_file_id < held.source_file_id
                    and reopened.least_revision <= held.revision
            group by reopened.source_file_id, source_row
        ) as answer
        where
            rejected_row.source_file_id = answer.source_file_id
            and rejected_row.source_row = answer.source_row
        """,
        {"site_code": site_code},
    )
    con.execute(
        """
        update rejected_row set cleared_by = later.by_file
        from (
            select
                stood.source_file_id, stood.source_row, max(in_file) as by_file
            from reopened_again as stood
            inner join rejected_row as again
                on in_file = again.source_file_id and in_row = again.source_row
            where is_loaded and again.cleared_by is null
            group by stood.source_file_id, stood.source_row
        ) as later
        where
            cleared_by is null
            and rejected_row.source_file_id = later.source_file_id
            and rejected_row.source_row = later.source_row
        """
    )


def _gather_again(
    con: duckdb.DuckDBPyConnection, site_code: str | None, source_file_id: int
) -> None:
    """Fill reopened_again: where reopened rows stand again, by their words or marks.

    With who cleared them in the leaving file, if that is where they stand.
    """
    same_words = (
        "reopened.raw_text = again.raw_text "
        "and reopened.is_conflict = (again.reason_code in ('conflict', 'displaced'))"
    )
    by_each = " union all ".join(
        f"""
        select
            reopened.source_file_id, reopened.source_row,
            again.source_file_id as in_file,
            again.source_row as in_row,
            if(
                again.source_file_id = $source_file_id
                and again.cleared_by != $source_file_id
                -- What settled the mended words did not mend the first ones.
                and reopened.is_conflict
                = (again.reason_code in ('conflict', 'displaced')),
                again.cleared_by, null
            ) as cleared_by,
            unloaded_at is null as is_loaded
        from reopened
        inner join rejected_row as again on {condition}
        inner join source_file on again.source_file_id = source_file.source_file_id
        where
            reopened.source_file_id < again.source_file_id
            and site_code is not distinct from $site_code
        """
        for condition in (same_words, marks_sql("again", "reopened"))
    )
    con.execute(
        f"create or replace temp table reopened_again as {by_each}",
        {"site_code": site_code, "source_file_id": source_file_id},
    )


def least_revision_sql(row: str) -> str:
    """Return the revision from which on a record answers one of its rejected rows.

    Its own, and of a conflict the next: what it lost against says nothing of it. One
    that could not be read was no first one.
    """
    return (
        f"coalesce({row}.revision, 1) + ({row}.reason_code in {_BY_REVISION})::integer"
    )


def _has_open(con: duckdb.DuckDBPyConnection, source_file_id: int) -> bool:
    return bool(
        con.execute(
            "select 1 from rejected_row where source_file_id = ? "
            "and cleared_by is null limit 1",
            [source_file_id],
        ).fetchall()
    )


def _held_sql() -> str:
    """Return who said what is held of the site: record_id, revision, source_file_id."""
    return """(
        select record_id, revision, source_file_id from installation
        where site_code = $site_code
        union all
        select record_id, revision, source_file_id from superseded_installation
        where site_code = $site_code
        union all
        select record_id, revision, source_file_id from repeated_row
        where site_code = $site_code
    )"""


def _cell_sql(header: str, text: str = "raw_text") -> str:
    return f"""json_extract_string(try_cast({text} as json), '$."{header}"')"""


def marks_sql(again: str, earlier: str) -> str:
    """Return whether a row of corrections is an earlier rejected row, by its marks."""
    marks = (
        (RECEIPT_HEADER, f"{earlier}.source_file_id"),
        (ROW_HEADER, f"{earlier}.source_row"),
    )
    return " and ".join(
        f"{_cell_sql(header, f'{again}.raw_text')} = {column}::varchar"
        for header, column in marks
    )
