"""Which rejected rows a load has cleared: they are linked to its file, not deleted."""

import re

import duckdb

from etl.answered import least_revision_sql, link_answered, marks_sql
from etl.named_rows import link_named
from etl.receipt import SITE_PART
from etl.screen import NO_SITE_CODE
from etl.site_map import SiteMap
from etl.sites import NO_SITE_PART
from etl.staging import StagedFile
from queries.readers.corrections import RECEIPT_HEADER


def are_corrections(staged: StagedFile) -> bool:
    """Say whether the staged rows are rejected ones that come back."""
    return RECEIPT_HEADER in staged.headers


def clear_rejected(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> None:
    """Link rejected rows to the file that brought their records after all.

    A conflict is settled only by a revision above the one in conflict, and a fault by
    none below that of its row. A row that comes
    again and is rejected again is linked too: it is open once, where it came last.
    So is each row of a file that is read again, by another map. The file's own rows
    are linked to those who answered them before.
    """
    site_code = site_map.site_code or None
    link_answered(con, site_code, source_file_id)
    is_any_open = con.execute(
        "select count(*) from rejected_row where cleared_by is null "
        "and source_file_id != ?",
        [source_file_id],
    ).fetchall() != [(0,)]
    if not is_any_open:
        return
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from (
            select record_id, max(revision) as revision
            from (
                select record_id, revision from installation
                where source_file_id = $source_file_id
                union all
                select record_id, revision from superseded_installation
                where source_file_id = $source_file_id
                union all
                select record_id, revision from repeated_row
                where source_file_id = $source_file_id
            )
            group by record_id
        ) as brought
        where
            rejected_row.record_id = brought.record_id
            -- Or linked to a file that rejected the record again.
            and (
                cleared_by is null
                or (cleared_by, rejected_row.record_id) in (
                    select (again.source_file_id, again.record_id)
                    from rejected_row as again
                    where again.reason_code not in ('conflict', 'displaced')
                )
            )
            -- What is no installation stays so, whatever number stands in it.
            and cleared_by is distinct from source_file_id
            and source_file_id != $source_file_id
            and source_file_id in (
                select source_file_id from source_file where site_code = $site_code
            )
            and brought.revision >= {least_revision_sql("rejected_row")}
        """,
        {"source_file_id": source_file_id, "site_code": site_code},
    )
    _link_rejected_again(con, site_code, source_file_id)
    if not are_corrections(staged):
        # Their parts have the same bytes, and other rows each.
        _link_read_again(con, staged.part, source_file_id)
    if site_map.sites is not None and site_code is not None:
        _link_of_no_site(con, staged, site_map, source_file_id)
    if are_corrections(staged):
        link_named(con, staged, source_file_id)


def _link_rejected_again(
    con: duckdb.DuckDBPyConnection, site_code: str | None, source_file_id: int
) -> None:
    """Link rows of the site that stand here with the same text, and were not taken.

    So of no site.
    """
    con.execute(
        """
        update rejected_row set cleared_by = $source_file_id
        where
            cleared_by is null
            and reason_code not in ('conflict', 'displaced')
            and (source_file_id, source_row) in (
                select (source_file_id, source_row)
                from (
                    select
                        earlier.source_file_id, source_row, raw_text,
                        row_number() over (
                            partition by earlier.source_file_id, raw_text
                            order by source_row
                        ) as nth
                    from rejected_row as earlier
                    inner join source_file using (source_file_id)
                    where
                        site_code is not distinct from $site_code
                        and source_file_id != $source_file_id
                        and cleared_by is null
                )
                inner join (
                    select raw_text, count(*) as times from rejected
                    where reason_code != 'conflict'
                    group by raw_text
                ) using (raw_text)
                -- Of more alike than stand here the others are not here.
                where nth <= times
            )
        """,
        {"source_file_id": source_file_id, "site_code": site_code},
    )
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from rejected_row as first_sent
        where
            rejected_row.cleared_by is null
            -- Whose words were mended and conflict with others: those did not come.
            and rejected_row.reason_code not in ('conflict', 'displaced')
            and rejected_row.source_file_id != $source_file_id
            and {marks_sql("rejected_row", "first_sent")}
            and first_sent.source_file_id in (
                select source_file_id from source_file
                where site_code is not distinct from $site_code
            )
            and first_sent.raw_text in (
                select raw_text from rejected where reason_code != 'conflict'
            )
        """,
        {"source_file_id": source_file_id, "site_code": site_code},
    )


def _link_read_again(
    con: duckdb.DuckDBPyConnection, part: str, source_file_id: int
) -> None:
    """Link the rows of the same bytes, read by another map: each is taken or told here.

    `part` as StagedFile.part, of a workbook of which several sheets are taken.
    """
    con.execute(
        """
        update rejected_row set cleared_by = $source_file_id
        where
            cleared_by is null
            and reason_code not in ('conflict', 'displaced')
            and source_file_id in (
                select earlier.source_file_id
                from source_file as earlier
                inner join source_file as this using (sha256)
                where
                    this.source_file_id = $source_file_id
                    and earlier.site_code is not distinct from this.site_code
                    and earlier.source_file_id != $source_file_id
                    and ends_with(earlier.file_name, $part)
                    and ($part != '' or not ends_with(earlier.file_name, ']'))
            )
        """,
        {"source_file_id": source_file_id, "part": part},
    )


def _link_of_no_site(
    con: duckdb.DuckDBPyConnection,
    staged: StagedFile,
    site_map: SiteMap,
    source_file_id: int,
) -> None:
    """Link rows that were of no known site, and are of this one.

    Those of the same bytes, and those that come again in another file: with the same
    number, and the same text but for the site's word.
    """
    is_any_open = con.execute(
        "select 1 from rejected_row where cleared_by is null and reason_code = $code "
        "limit 1",
        {"code": NO_SITE_CODE},
    ).fetchall()
    if not is_any_open or site_map.sites is None:
        return
    filled = site_map.filled_headers
    con.execute(
        f"""
        create or replace temp table of_no_site as
        select
            open.source_file_id, source_row, open.record_id, earlier.sha256,
            ends_with(file_name, $part) and ($part != $no_site
                or not ends_with(left(file_name, -len($no_site)), ']')) as is_of_part,
            {_but_site("raw_text")} as text
        from rejected_row as open
        inner join source_file as earlier
            on open.source_file_id = earlier.source_file_id
        where
            cleared_by is null
            and reason_code = $code
            and site_code is null
            and open.source_file_id != $source_file_id;
        """,
        {
            "part": re.sub(SITE_PART, "", staged.part) + NO_SITE_PART,
            "no_site": NO_SITE_PART,
            "code": NO_SITE_CODE,
            "site_header": site_map.sites.header,
            "source_file_id": source_file_id,
        },
    )
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from (
            select of_no_site.source_file_id, of_no_site.source_row
            from of_no_site
            inner join identity on of_no_site.source_row = identity.source_row
            inner join source_file as this using (sha256)
            where this.source_file_id = $source_file_id and is_of_part
            union all
            select of_no_site.source_file_id, of_no_site.source_row
            from of_no_site
            inner join identity on of_no_site.record_id = identity.record_id
            inner join {staged.filled_rows_sql(filled)}
                on identity.source_row = {staged.row_sql}
            where
                identity.reason_code is null
                and of_no_site.text = {_but_site(staged.raw_text_sql(filled))}
        ) as known
        where
            rejected_row.source_file_id = known.source_file_id
            and rejected_row.source_row = known.source_row
        """,
        staged.raw_text_parameters
        | {"site_header": site_map.sites.header, "source_file_id": source_file_id},
    )


def _but_site(text: str) -> str:
    """Return a row's text without the site's word, NULL where it is no plain JSON."""
    patch = "json_object($site_header, null)"
    return f"json_merge_patch(try_cast({text} as json), {patch})::varchar"
