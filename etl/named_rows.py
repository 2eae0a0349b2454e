"""Rejected rows that corrections name by their receipt and row: they are cleared.

So are the same rows where they came since, as a list of all weeks sends them.
"""

import duckdb

from etl.answered import marks_sql
from etl.staging import StagedFile
from queries.readers.corrections import RECEIPT_HEADER, ROW_HEADER


def link_named(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, source_file_id: int
) -> None:
    """Link the rows that corrections name by their receipt and row.

    And those of other corrections that name the same: a list that came half mended and
    comes again, mended, would else be open where it came first.
    """
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from staged_row
        where
            rejected_row.cleared_by is null
            and rejected_row.source_file_id
            = try_cast({staged.cell_sql(RECEIPT_HEADER)} as integer)
            and rejected_row.source_row
            = try_cast({staged.cell_sql(ROW_HEADER)} as bigint)
            and not staged_row.is_blank_row
            and not ({staged.is_elsewhere_sql})
        """,
        {"source_file_id": source_file_id},
    )
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from rejected_row as named
        inner join staged_row
            on named.source_file_id
            = try_cast({staged.cell_sql(RECEIPT_HEADER)} as integer)
            and named.source_row = try_cast({staged.cell_sql(ROW_HEADER)} as bigint)
        where
            rejected_row.cleared_by is null
            and rejected_row.source_file_id != $source_file_id
            -- Whose words were mended and conflict with others: those did not come.
            and rejected_row.reason_code not in ('conflict', 'displaced')
            and {marks_sql("rejected_row", "named")}
            and not staged_row.is_blank_row
            and not ({staged.is_elsewhere_sql})
        """,
        {"source_file_id": source_file_id},
    )
    _link_sent_since(con, staged, source_file_id)


def _link_sent_since(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, source_file_id: int
) -> None:
    """Link rows without a mark that came again after those that corrections name.

    They stand in the file that answers those, with the same words: as many of them as
    are named, the first ones.
    """
    con.execute(
        f"""
        with named as (
            select
                cleared_by as sent_in, raw_text,
                row_number() over (
                    partition by cleared_by, raw_text
                    order by source_file_id, source_row
                ) as place
            from rejected_row
            where
                cleared_by not in (source_file_id, $source_file_id)
                and (source_file_id, source_row) in (
                    select
                        try_cast({staged.cell_sql(RECEIPT_HEADER)} as integer),
                        try_cast({staged.cell_sql(ROW_HEADER)} as bigint)
                    from staged_row
                    where not is_blank_row and not ({staged.is_elsewhere_sql})
                )
        ),

        open as (
            select
                source_file_id, source_row, raw_text,
                row_number() over (
                    partition by source_file_id, raw_text order by source_row
                ) as place
            from rejected_row
            where cleared_by is null and reason_code not in ('conflict', 'displaced')
        )

        update rejected_row set cleared_by = $source_file_id
        from open
        inner join named
            on
                open.source_file_id = named.sent_in
                and open.raw_text = named.raw_text
                and open.place = named.place
        where
            rejected_row.source_file_id = open.source_file_id
            and rejected_row.source_row = open.source_row
        """,
        {"source_file_id": source_file_id},
    )
