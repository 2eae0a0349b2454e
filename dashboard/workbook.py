"""A list of records as an XLSX workbook, written row by row within bounded memory."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

import polars as pl

XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
# A worksheet has 1,048,576 rows (ECMA-376, as every spreadsheet implements it); one
# holds the heads.
MOST_ROWS = 1_048_575
LONGEST_CELL = 32_767
CUT = " … (cut: longer than a cell of a workbook; whole in the CSV)"

# Texts stay texts: nothing is taken for a formula, a link or a number.
_OPTIONS = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}


def write_workbook(
    path: Path, frames: Iterable[pl.DataFrame], about: Mapping[str, str]
) -> int:
    """Write frames of the same columns below each other; return how many rows.

    Sheet "Records" holds the rows, sheet "About" the pairs of `about`. Each text is a
    plain string cell, numbers are numbers, dates are dates, instants UTC; lists are
    joined by "; ", an infinite distance is the word clear. The caller sees to it that
    there are at most MOST_ROWS.
    """
    # Not needed to show a page: xlsxwriter costs some 60 ms to import.
    import xlsxwriter

    count = 0
    with xlsxwriter.Workbook(str(path), _OPTIONS) as book:
        sheet = book.add_worksheet("Records")
        kinds = {
            "date": book.add_format({"num_format": "yyyy-mm-dd"}),
            "instant": book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"}),
            "head": book.add_format({"bold": True}),
        }
        sheet.freeze_panes(1, 2)
        for frame in frames:
            if count == 0:
                for at, name in enumerate(frame.columns):
                    sheet.write_string(0, at, name, kinds["head"])
            for row in frame.iter_rows():
                count += 1
                _write_row(sheet, count, row, kinds)
        _write_about(book.add_worksheet("About"), about, kinds)
    return count


def _write_row(
    sheet: Any, number: int, row: tuple[object, ...], kinds: Mapping[str, Any]
) -> None:
    for at, value in enumerate(row):
        if value is None:
            continue
        if isinstance(value, list):
            value = "; ".join(map(str, value))
        if isinstance(value, str):
            sheet.write_string(number, at, cut(value))
        elif isinstance(value, bool):
            sheet.write_boolean(number, at, value)
        elif isinstance(value, datetime):
            sheet.write_datetime(
                number, at, value.replace(tzinfo=None), kinds["instant"]
            )
        elif isinstance(value, date):
            sheet.write_datetime(number, at, value, kinds["date"])
        elif value in (float("inf"), float("-inf")):
            sheet.write_string(number, at, "clear")
        else:
            sheet.write_number(number, at, value)


def _write_about(
    sheet: Any, about: Mapping[str, str], kinds: Mapping[str, Any]
) -> None:
    sheet.set_column(0, 0, 18)
    for number, (term, words) in enumerate(about.items()):
        sheet.write_string(number, 0, term, kinds["head"])
        sheet.write_string(number, 1, words)


def cut(text: str) -> str:
    """Return a text as long as a cell may be; where it is cut, it says so."""
    if len(text) <= LONGEST_CELL:
        return text
    return text[: LONGEST_CELL - len(CUT)] + CUT
