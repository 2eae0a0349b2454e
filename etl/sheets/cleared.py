"""Which rejected rows of sheets a later one has cleared."""

import json
from collections.abc import Sequence

import duckdb

from etl.sheets.declaration import Sheet
from etl.sheets.keys import same_key_sql
from etl.sheets.read import SheetRow


def key_words(sheet: Sheet, row: SheetRow) -> str | None:
    """Return what a row is about in one text; None where that could not be read."""
    key = [row.values[name] for name in sheet.key]
    return None if None in key else " ".join(map(str, key))


def raw_text(row: SheetRow) -> str:
    """Return a row's cells by header, as they are kept of one that is rejected."""
    return json.dumps(row.cells, ensure_ascii=False)


def clear_rejected_of_sheets(
    con: duckdb.DuckDBPyConnection,
    sheet: Sheet,
    rows: Sequence[SheetRow],
    source_file_id: int,
) -> None:
    """Link rejected rows of earlier sheets of the kind that this one answers.

    It has a row of the same key, or the same row again, to be rejected here; or it is
    the file of that name once more, with all the rows that the earlier one holds. What
    is taken of this one stands in its table.
    """
    _link_mended(con, sheet, source_file_id)
    is_same = same_key_sql(sheet, "held", "sheet_taken")
    con.execute(
        f"""
        update rejected_row set cleared_by = $source_file_id
        from source_file as earlier
        where
            rejected_row.source_file_id = earlier.source_file_id
            and cleared_by is null
            and unloaded_at is null
            and earlier.content = $content
            and earlier.source_file_id < $source_file_id
            and (
                coalesce(list_contains($keys, record_id), false)
                or list_contains($texts, raw_text)
                or (
                    earlier.file_name = (
                        select file_name from source_file
                        where source_file_id = $source_file_id
                    )
                    and earlier.source_file_id in (
                        select source_file_id from {sheet.table}
                    )
                    and earlier.source_file_id not in (
                        select held.source_file_id
                        from {sheet.table} as held
                        anti join sheet_taken on {is_same}
                    )
                )
            )
        """,
        {
            "source_file_id": source_file_id,
            "content": sheet.content,
            "keys": [key_words(sheet, row) for row in rows if not row.faults],
            "texts": [raw_text(row) for row in rows if row.faults],
        },
    )


def _link_mended(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, source_file_id: int
) -> None:
    """Link rows that were rejected with these words before, and all mended since."""
    con.execute(
        """
        update rejected_row set cleared_by = mended.by_file
        from (
            select raw_text, max(cleared_by) as by_file
            from rejected_row
            inner join source_file using (source_file_id)
            where
                content = $content
                and source_file_id != $source_file_id
                and unloaded_at is null
            group by raw_text
            having count(*) = count(cleared_by)
        ) as mended
        where
            rejected_row.source_file_id = $source_file_id
            and cleared_by is null
            and rejected_row.raw_text = mended.raw_text
        """,
        {"content": sheet.content, "source_file_id": source_file_id},
    )
