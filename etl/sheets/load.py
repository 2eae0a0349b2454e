"""Load a sheet into its table: rows revised by key, replaced rows kept, a receipt."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import duckdb
import polars as pl

from etl.codes import join_settings, join_values
from etl.receipt import (
    Receipt,
    insert_receipt,
    next_source_file_id,
    receipt_of_same_file,
    sha256_of,
)
from etl.sheets.alike import codes_alike
from etl.sheets.cleared import clear_rejected_of_sheets, key_words, raw_text
from etl.sheets.declaration import Sheet
from etl.sheets.judge import judge_again
from etl.sheets.keys import key_sql, same_key_sql
from etl.sheets.kinds import CODE
from etl.sheets.read import SheetFile, SheetRow, read_sheet, settled
from etl.sheets.remarks import remarks_of


def load_sheet(
    con: duckdb.DuckDBPyConnection, path: Path, sheet: Sheet, now: datetime
) -> Receipt:
    """Load a sheet in one transaction; installations it touches are judged again.

    `con` is the open ledger, `now` the load's clock (UTC). A faulty row is rejected,
    or, where the sheet is refused whole, FirmsetError lists all faults. A file that
    was loaded before and brings nothing new leaves the ledger as it was.
    """
    file = read_sheet(path, sheet)
    con.execute("begin")
    try:
        receipt = _load_rows(con, path, sheet, file, now)
        con.execute("commit" if receipt.is_new else "rollback")
    except BaseException:
        con.execute("rollback")
        raise
    return receipt


def _load_rows(
    con: duckdb.DuckDBPyConnection,
    path: Path,
    sheet: Sheet,
    file: SheetFile,
    now: datetime,
) -> Receipt:
    source_file_id = next_source_file_id(con)
    rows, spelled = _with_joined_codes(con, sheet, file.rows, source_file_id)
    taken = [row for row in rows if not row.faults and not row.is_repeat]
    rejected = [row for row in rows if row.faults]
    _stage(con, sheet, taken, source_file_id)
    con.execute("create or replace temp table sheet_taken as from sheet")
    _fill_from_clock(con, sheet, now)
    loaded, revised = _keep_changed(con, sheet)
    remarks = [*file.remarks, *spelled, *remarks_of(con, sheet, taken)]
    if loaded or revised:
        remarks += _replace(con, sheet, source_file_id)
        if sheet.content == "setting data":
            remarks += codes_alike(con)
    _insert_rejected(con, sheet, source_file_id, rejected)
    receipt = Receipt(
        source_file_id=source_file_id,
        content=sheet.content,
        site_code=None,
        file_name=path.name,
        sha256=sha256_of(path),
        byte_count=path.stat().st_size,
        site_map_sha256=None,
        loaded_at=now,
        rows_read=len(rows),
        loaded=loaded,
        revised=revised,
        duplicate=len(rows) - loaded - revised - len(rejected),
        rejected=len(rejected),
        field_faults=0,
        remarks=remarks,
    )
    earlier = receipt_of_same_file(con, receipt)
    if earlier is not None and loaded == revised == 0:
        return replace(receipt, source_file_id=earlier, is_new=False)
    insert_receipt(con, receipt)
    clear_rejected_of_sheets(con, sheet, rows, source_file_id)
    return receipt


def _with_joined_codes(
    con: duckdb.DuckDBPyConnection,
    sheet: Sheet,
    rows: list[SheetRow],
    source_file_id: int,
) -> tuple[list[SheetRow], list[str]]:
    """Return the rows with codes spelled as logs spell them, and remarks."""
    remarks: list[str] = []
    for column in sheet.columns:
        if column.kind is not CODE:
            continue
        codes = {str(row.values[column.name]) for row in rows if not row.faults}
        codes -= {"None"}
        joined, said = (
            join_settings(con, codes)
            if column.name in sheet.known_in
            else join_values(con, column.name, codes, source_file_id)
        )
        remarks += said
        if joined:
            rows = [
                replace(
                    row,
                    values=row.values
                    | {
                        column.name: joined.get(
                            str(row.values[column.name]), row.values[column.name]
                        )
                    },
                )
                if not row.faults
                else row
                for row in rows
            ]
    # Rows that are now of one key may say the same, or contradict each other.
    return list(settled(rows, sheet)), remarks


def _stage(
    con: duckdb.DuckDBPyConnection,
    sheet: Sheet,
    rows: Sequence[SheetRow],
    source_file_id: int,
) -> None:
    """Put the rows that can be taken into the temporary table `sheet`."""
    frame = pl.DataFrame(
        [
            {**row.values, "source_file_id": source_file_id, "source_row": row.number}
            for row in rows
        ],
        schema={column.name: column.kind.dtype for column in sheet.columns}
        | {"source_file_id": pl.Int32(), "source_row": pl.Int64()},
    )
    con.register("sheet_frame", frame.to_arrow())
    con.execute(
        f"""
        create or replace temp table sheet as
        select * from {sheet.table} where false
        union all by name
        select * from sheet_frame
        """
    )
    con.unregister("sheet_frame")


def _fill_from_clock(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, now: datetime
) -> None:
    """Where a cell is blank keep what is held, so that the same row stays the same."""
    for column in sheet.columns:
        if column.is_clock_if_blank:
            con.execute(
                f"""
                update sheet set {column.name} = coalesce(
                    (
                        select held.{column.name} from {sheet.table} as held
                        where {same_key_sql(sheet, "held", "sheet")}
                    ),
                    $now
                )
                where {column.name} is null
                """,
                {"now": now},
            )


def _keep_changed(con: duckdb.DuckDBPyConnection, sheet: Sheet) -> tuple[int, int]:
    """Reduce `sheet` to new and changed rows; return how many of each."""
    values, held_values = (
        ", ".join(f"{rows}.{column.name}" for column in sheet.columns)
        for rows in ("sheet", "held")
    )
    con.execute(
        f"""
        create or replace temp table sheet as
        select sheet.* from sheet left join {sheet.table} as held
            on {same_key_sql(sheet, "held", "sheet")}
        where
            held.source_file_id is null
            or row({values}) is distinct from row({held_values})
        """
    )
    [(all_rows, revised)] = con.execute(
        f"""
        select count(*), count(held.source_file_id)
        from sheet left join {sheet.table} as held
            on {same_key_sql(sheet, "held", "sheet")}
        """
    ).fetchall()
    return all_rows - revised, revised


def _replace(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, source_file_id: int
) -> list[str]:
    """Take the changed rows over; return what to say of installations touched."""

    def replace() -> None:
        _replace_rows(con, sheet, source_file_id)

    if sheet.judging_column is None:
        replace()
        return []
    con.execute(
        f"""
        create or replace temp table touched_code as
        select distinct {sheet.judging_column} as code from sheet
        """
    )
    judged_again = judge_again(con, sheet.judging_column, replace)
    return [judged_again.in_words()] if judged_again.installations else []


def _replace_rows(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, source_file_id: int
) -> None:
    """Put the changed rows in the place of those held, which are kept as JSON."""
    con.execute(
        f"""
        insert into replaced_sheet_row
        select
            $source_file_id, $content, {key_sql(sheet, "held")},
            held.source_file_id, to_json(held)
        from {sheet.table} as held
        inner join sheet on {same_key_sql(sheet, "held", "sheet")}
        """,
        {"source_file_id": source_file_id, "content": sheet.content},
    )
    con.execute(
        f"""
        delete from {sheet.table} as held using sheet
        where {same_key_sql(sheet, "held", "sheet")}
        """
    )
    con.execute(f"insert into {sheet.table} by name select * from sheet")


def _insert_rejected(
    con: duckdb.DuckDBPyConnection,
    sheet: Sheet,
    source_file_id: int,
    rows: Sequence[SheetRow],
) -> None:
    if not rows:
        return
    con.execute(
        """
        insert into rejected_row
        select
            $source_file_id, unnest($numbers), unnest($codes), unnest($reasons),
            unnest($texts), unnest($keys), null, 0
        """,
        {
            "source_file_id": source_file_id,
            "numbers": [row.number for row in rows],
            "codes": [row.faults[0].reason_code for row in rows],
            "reasons": ["; ".join(f.words for f in row.faults) for row in rows],
            "texts": [raw_text(row) for row in rows],
            "keys": [key_words(sheet, row) for row in rows],
        },
    )
