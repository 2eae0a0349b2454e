"""An empty list as a workbook to be filled in, with a page that says what goes in."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from etl.sheets.declaration import Sheet, SheetColumn
from etl.sheets.kinds import YES_NO

# So many rows are offered what may be chosen.
OFFERED_ROWS = 1000
# ECMA-376 part 1, 18.8.30: a cell of text stays as it is typed.
TEXT_FORMAT = 49
HEADS = ("Column", "Needed", "What it is", "Written as")


@dataclass(frozen=True)
class Described:
    """One column of a list: what it is, and how it is `written`.

    `number_format` is a spreadsheet's, None for its own; `offered` are all the words
    that a cell may hold.
    """

    name: str
    is_needed: bool
    what: str
    written: str
    number_format: int | str | None = None
    offered: tuple[str, ...] = ()


def empty_workbook(sheet: Sheet) -> bytes:
    """Return a sheet of master data as a workbook without rows."""
    return workbook_of(sheet.name, [*map(_described, sheet.file_columns())])


def _described(column: SheetColumn) -> Described:
    is_text = column.kind.dtype in (pl.String(), pl.List(pl.String()))
    return Described(
        column.name,
        not column.may_be_blank,
        column.what,
        column.kind.expected,
        # A spreadsheet would make a date of the size 1/2, and 7 of 007.
        TEXT_FORMAT if is_text else None,
        ("yes", "no") if column.kind is YES_NO else (),
    )


def workbook_of(name: str, columns: Sequence[Described]) -> bytes:
    """Return a workbook: a page of this name without rows, and one on its columns."""
    # Not needed to show a page: xlsxwriter costs some 60 ms to import.
    import xlsxwriter

    target = io.BytesIO()
    with xlsxwriter.Workbook(target, {"in_memory": True}) as book:
        head = book.add_format({"bold": True})
        looks = {
            number_format: book.add_format({"num_format": number_format})
            for number_format in dict.fromkeys(one.number_format for one in columns)
            if number_format is not None
        }
        page = book.add_worksheet(name)
        page.freeze_panes(1, 1)
        for at, column in enumerate(columns):
            look = looks.get(column.number_format or 0)
            page.set_column(at, at, len(column.name) + 3, look)
            page.write_string(0, at, column.name, head)
            if column.offered:
                offered = {"validate": "list", "source": list(column.offered)}
                page.data_validation(1, at, OFFERED_ROWS, at, offered)
        _describe(book.add_worksheet("Columns"), columns, head)
    return target.getvalue()


def _describe(page: Any, columns: Sequence[Described], head: Any) -> None:
    rows = [
        (
            column.name,
            "in each row" if column.is_needed else "may be blank",
            column.what,
            column.written,
        )
        for column in columns
    ]
    for at, name in enumerate(HEADS):
        longest = max(len(row[at]) for row in rows)
        page.set_column(at, at, max(longest, len(name)) + 2)
        page.write_string(0, at, name, head)
        for number, row in enumerate(rows, start=1):
            page.write_string(number, at, row[at])
    page.freeze_panes(1, 1)
