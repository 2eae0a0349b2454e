"""Take a sheet's rows out again and bring back what they had replaced."""

import json

import duckdb

from etl.sheets.declaration import Sheet
from etl.sheets.judge import judge_again
from etl.sheets.keys import key_sql
from etl.sheets.registry import sheet_of_content
from queries.errors import FirmsetError


def unload_sheet(con: duckdb.DuckDBPyConnection, source_file_id: int) -> int:
    """Take the rows of one receipt out of their table; return how many.

    What they had replaced comes back. Where a later file has replaced a row of this
    one, that file now replaces what this one had replaced. Installations that are
    touched are judged again. A row that another file only repeated goes too: that
    file counted it as a duplicate and can be loaded again.

    Runs in the caller's transaction, and leaves the receipt and its rejected rows to
    the caller. FirmsetError where the receipt is not of a sheet, or installations
    would be left without what they are judged by.
    """
    sheet = _sheet_of(con, source_file_id)
    if sheet.is_indispensable:
        _refuse_vanishing(con, sheet, source_file_id)
    if sheet.judging_column is None:
        return _take_out(con, sheet, source_file_id)
    con.execute(
        f"""
        create or replace temp table touched_code as
        select distinct {sheet.judging_column} as code from {sheet.table}
        where source_file_id = ?
        """,
        [source_file_id],
    )
    counts: list[int] = []
    judge_again(
        con,
        sheet.judging_column,
        lambda: counts.append(_take_out(con, sheet, source_file_id)),
    )
    return counts[0]


def _sheet_of(con: duckdb.DuckDBPyConnection, source_file_id: int) -> Sheet:
    found = con.execute(
        "select content from source_file where source_file_id = ?", [source_file_id]
    ).fetchall()
    if not found:
        raise FirmsetError(f"receipt {source_file_id}: there is none of this number")
    sheet = sheet_of_content(found[0][0])
    if sheet is None:
        raise FirmsetError(
            f"receipt {source_file_id}: is of {found[0][0]}: expected one of a sheet"
        )
    return sheet


def _refuse_vanishing(
    con: duckdb.DuckDBPyConnection, sheet: Sheet, source_file_id: int
) -> None:
    """Raise where a row would go without another coming back, and is needed."""
    column = sheet.judging_column
    needed = con.execute(
        f"""
        select count(*), {column}
        from (
            select {column} from installation
            union all
            select {column} from superseded_installation
            union all
            select {column} from conflicting_installation
        )
        where {column} in (
            select {column} from {sheet.table} as held
            where source_file_id = $source_file_id and {key_sql(sheet, "held")} not in (
                select row_key from replaced_sheet_row
                where source_file_id = $source_file_id and content = $content
            )
        )
        group by {column} order by {column}
        """,
        {"source_file_id": source_file_id, "content": sheet.content},
    ).fetchall()
    if needed:
        judged = " and ".join(
            f"{count:,} {'installation is' if count == 1 else 'installations are'} "
            f"judged by {code}"
            for count, code in needed
        )
        raise FirmsetError(
            f"receipt {source_file_id}: {judged}: unload their logs first"
        )


def _take_out(con: duckdb.DuckDBPyConnection, sheet: Sheet, source_file_id: int) -> int:
    parameters = {"source_file_id": source_file_id, "content": sheet.content}
    replaced_later = _relink(con, parameters)
    [(count,)] = con.execute(
        f"delete from {sheet.table} where source_file_id = ?", [source_file_id]
    ).fetchall()
    shape = {
        name: sql_type
        for name, sql_type, *_ in con.execute(f"describe {sheet.table}").fetchall()
    }
    con.execute(
        f"""
        insert into {sheet.table} by name
        select unnest(from_json(row_text, $shape)) from replaced_sheet_row
        where source_file_id = $source_file_id and content = $content
        """,
        parameters | {"shape": json.dumps(shape)},
    )
    con.execute(
        """
        delete from replaced_sheet_row
        where source_file_id = $source_file_id and content = $content
        """,
        parameters,
    )
    return int(count) + replaced_later


def _relink(con: duckdb.DuckDBPyConnection, parameters: dict[str, object]) -> int:
    """Take this file's rows out of what later files replaced; return how many.

    A later file then replaces what stood before this file's row, if anything did.
    """
    con.execute(
        """
        update replaced_sheet_row set source_file_id = later.source_file_id
        from replaced_sheet_row as later
        where
            replaced_sheet_row.source_file_id = $source_file_id
            and replaced_sheet_row.content = $content
            and later.content = $content
            and later.row_key = replaced_sheet_row.row_key
            and later.replaced_file_id = $source_file_id
        """,
        parameters,
    )
    [(count,)] = con.execute(
        """
        delete from replaced_sheet_row
        where replaced_file_id = $source_file_id and content = $content
        """,
        parameters,
    ).fetchall()
    return int(count)
