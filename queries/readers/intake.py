"""What was loaded, and what could not be."""

from datetime import date

import duckdb
import polars as pl

from queries.frames import read_frame


def read_receipts(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return one row a file, newest first.

    Columns: source_file_id, file_name, content, site_code, loaded_at, rows_read,
    loaded, revised, duplicate, rejected, field_faults, remarks (list), unloaded_at
    (when the file was taken back, else null). The table refuses a receipt whose
    rows_read is not the sum of the four fates.
    """
    return read_frame(
        con,
        """
        select
            source_file_id, file_name, content, site_code, loaded_at, rows_read,
            loaded, revised, duplicate, rejected, field_faults, remarks, unloaded_at
        from source_file
        order by source_file_id desc
        """,
    )


def read_rejects(
    con: duckdb.DuckDBPyConnection,
    source_file_id: int | None = None,
    *,
    with_cleared: bool = False,
) -> pl.DataFrame:
    """Return rejected rows, of one receipt or of all that were not taken back.

    Columns: source_file_id, file_name, site_code, source_row, reason_code, reason,
    raw_text (JSON: the row's cells by the file's own headers, merged ones filled down),
    record_id (null where none could be read), cleared_by (the later file that brought
    the record after all, or the row again; such rows only `with_cleared`).
    """
    return read_frame(
        con,
        """
        select
            rejected_row.source_file_id, file_name, site_code, source_row,
            reason_code, reason, raw_text, record_id, cleared_by
        from rejected_row
        inner join source_file
            on rejected_row.source_file_id = source_file.source_file_id
        where
            unloaded_at is null
            and ($with_cleared or cleared_by is null)
            and (
                $source_file_id is null
                or rejected_row.source_file_id = $source_file_id
            )
        order by rejected_row.source_file_id, source_row
        """,
        {"source_file_id": source_file_id, "with_cleared": with_cleared},
    )


def read_last_sent(con: duckdb.DuckDBPyConnection, today: date) -> pl.DataFrame:
    """Return one row a site, those that never sent a log included.

    Such sites are known from the sheets of planned holes and crews. Columns:
    site_code, site_name (null where no log came), last_on (UTC day of the last file
    that was not taken back), silent_days (from it to `today`), sendings (days on which
    files came), usual_gap_days and long_gap_days (median and ninth decile of the days
    between them; null under three sendings), newest_on (date of its
    newest installation), files, rows_read, loaded, revised, duplicate, rejected,
    open_rejected (not cleared since).
    """
    return read_frame(
        con,
        """
        with log as (
            select *, loaded_at::date as sent_on
            from source_file
            where content = 'installations' and unloaded_at is null
        ),
        gap as (
            select
                site_code,
                sent_on - lag(sent_on) over (
                    partition by site_code order by sent_on
                ) as gap_days
            from (select distinct site_code, sent_on from log)
        ),
        usual as (
            select
                site_code,
                count(*) as sendings,
                case when count(*) > 2 then median(gap_days) end as usual_gap_days,
                case
                    when count(*) > 2 then quantile_disc(gap_days, 0.9)
                end as long_gap_days
            from gap
            group by site_code
        ),
        sent as (
            select
                site_code,
                max(sent_on) as last_on,
                count(*) as files,
                sum(rows_read)::bigint as rows_read,
                sum(loaded)::bigint as loaded,
                sum(revised)::bigint as revised,
                sum(duplicate)::bigint as duplicate,
                sum(rejected)::bigint as rejected
            from log
            group by site_code
        ),
        open_row as (
            select site_code, count(*) as open_rejected
            from rejected_row
            inner join log on rejected_row.source_file_id = log.source_file_id
            where cleared_by is null
            group by site_code
        ),
        newest as (
            select site_code, max(installed_on) as newest_on
            from tally
            group by site_code
        ),
        known as (
            select site_code from site
            union
            select site_code from planned_hole
            union
            select site_code from crew
        )
        select
            known.site_code, site_name, last_on,
            $today::date - last_on as silent_days,
            sendings, usual_gap_days, long_gap_days, newest_on, files, rows_read,
            loaded, revised, duplicate, rejected,
            coalesce(open_rejected, 0) as open_rejected
        from known
        left join site on known.site_code = site.site_code
        left join sent on known.site_code = sent.site_code
        left join usual on known.site_code = usual.site_code
        left join open_row on known.site_code = open_row.site_code
        left join newest on known.site_code = newest.site_code
        where known.site_code is not null
        order by known.site_code
        """,
        {"today": today},
    )


def read_used_maps(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return the site maps that loads used, the last used first.

    Columns: sha256, file_name, text, last_used_at (UTC; of the newest file that was
    read with it, whether or not that was taken back).
    """
    return read_frame(
        con,
        """
        select
            site_map.sha256, site_map.file_name, text,
            max(loaded_at) as last_used_at
        from site_map
        inner join source_file on site_map.sha256 = site_map_sha256
        group by all
        order by max(source_file_id) desc
        """,
    )
