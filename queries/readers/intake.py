"""What was loaded, and what could not be."""

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
    raw_text (JSON: the row's cells by the file's own headers), record_id (null where
    none could be read), cleared_by (the later file that brought the record after all;
    such rows only `with_cleared`).
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
