"""An empty sheet of master data as a workbook, with a page that says what goes in."""

import io
from typing import Any

import polars as pl

from etl.sheets.declaration import Sheet, SheetColumn
from etl.sheets.kinds import YES_NO

# So many rows are offered yes and no to choose from.
OFFERED_ROWS = 1000
# ECMA-376 part 1, 18.8.30.
TEXT_FORMAT = 49
HEADS = ("Column", "Needed", "What it is", "Written as")


def empty_workbook(sheet: Sheet) -> bytes:
    """Return the sheet as a workbook without rows, and a second page on its columns.

    Cells of codes and texts are kept as they are typed: a spreadsheet would make a
    date of 1/2, and 7 of 007.
    """
    # Not needed to show a page: xlsxwriter costs some 60 ms to import.
    import xlsxwriter

    target = io.BytesIO()
    with xlsxwriter.Workbook(target, {"in_memory": True}) as book:
        head = book.add_format({"bold": True})
        text = book.add_format({"num_format": TEXT_FORMAT})
        page = book.add_worksheet(sheet.name)
        page.freeze_panes(1, 1)
        for at, column in enumerate(sheet.file_columns()):
            look = text if _is_text(column) else None
            page.set_column(at, at, len(column.name) + 3, look)
            page.write_string(0, at, column.name, head)
            if column.kind is YES_NO:
                offered = {"validate": "list", "source": ["yes", "no"]}
                page.data_validation(1, at, OFFERED_ROWS, at, offered)
        _describe(book.add_worksheet("Columns"), sheet, head)
    return target.getvalue()


def _is_text(column: SheetColumn) -> bool:
    return column.kind.dtype in (pl.String(), pl.List(pl.String()))


def _describe(page: Any, sheet: Sheet, head: Any) -> None:
    rows = [
        (column.name, needed(column), column.what, column.kind.expected)
        for column in sheet.file_columns()
    ]
    for at, name in enumerate(HEADS):
        longest = max(len(row[at]) for row in rows)
        page.set_column(at, at, max(longest, len(name)) + 2)
        page.write_string(0, at, name, head)
        for number, row in enumerate(rows, start=1):
            page.write_string(number, at, row[at])
    page.freeze_panes(1, 1)


def needed(column: SheetColumn) -> str:
    """Say whether each row needs a value of a column."""
    return "may be blank" if column.may_be_blank else "in each row"
