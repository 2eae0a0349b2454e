"""Conflicts that come again, in lists that repeat what was sent before."""

import duckdb

from queries.columns import LOGGED_NAMES

# What a row says but for its revision, and what of it could not be read.
_CONTENT = "hash(row({}))".format(
    ", ".join([*(n for n in LOGGED_NAMES if n != "revision"), "field_fault_mask"])
)


def link_conflicts(
    con: duckdb.DuckDBPyConnection, site_code: str, source_file_id: int
) -> None:
    """Link the file's conflicts that are settled, and to it those that it has again.

    Settled is a content that lost before and was answered, and that of a higher
    revision that counts. One that loses against a higher revision for the first time
    may be news, and stays open.
    """
    con.execute(
        f"""
        create or replace temp table lost as
        select
            lost.source_file_id, lost.source_row, lost.record_id, lost.revision,
            {_CONTENT} as content, cleared_by
        from conflicting_installation as lost
        inner join (
            select source_file_id, source_row, cleared_by from rejected_row
        ) using (source_file_id, source_row)
        where
            site_code = $site_code
            and lost.record_id in (
                select record_id from conflicting_installation
                where source_file_id = $source_file_id
            )
        """,
        {"site_code": site_code, "source_file_id": source_file_id},
    )
    con.execute(
        f"""
        update rejected_row set cleared_by = settled.by_file
        from (
            select own.source_row, max(other.by_file) as by_file
            from lost as own
            inner join (
                select record_id, revision, content, max(cleared_by) as by_file
                from lost
                where source_file_id != $source_file_id
                group by record_id, revision, content
                having count(*) = count(cleared_by)
                union all
                select record_id, revision, {_CONTENT}, source_file_id
                from installation
                where
                    site_code = $site_code
                    and record_id in (select record_id from lost)
            ) as other
                on
                    own.record_id = other.record_id
                    and own.content = other.content
                    and own.revision <= other.revision
            where
                own.source_file_id = $source_file_id
                and other.by_file != $source_file_id
            group by own.source_row
        ) as settled
        where
            rejected_row.source_file_id = $source_file_id
            and cleared_by is null
            and rejected_row.source_row = settled.source_row
        """,
        {"site_code": site_code, "source_file_id": source_file_id},
    )
    con.execute(
        """
        update rejected_row set cleared_by = $source_file_id
        from lost as earlier
        inner join lost as own using (record_id, revision, content)
        inner join rejected_row as open
            on
                own.source_file_id = open.source_file_id
                and own.source_row = open.source_row
        where
            own.source_file_id = $source_file_id
            and open.cleared_by is null
            and earlier.source_file_id != $source_file_id
            and rejected_row.cleared_by is null
            and rejected_row.source_file_id = earlier.source_file_id
            and rejected_row.source_row = earlier.source_row
        """,
        {"source_file_id": source_file_id},
    )
