"""Rows that are struck out in a workbook: read, and asked about. Expected by hand."""

from pathlib import Path
from typing import Any

import duckdb
import pytest

from tests.etl.test_workbook import changed, row, take_book, write_book

Ledger = duckdb.DuckDBPyConnection
LAST = 9


def fill(book: Any, sheet: Any) -> None:
    """Write rows 2 to 9: all cells struck out in 3 and 5, one of them in 4."""
    struck = book.add_format({"font_strikeout": True})
    day = book.add_format({"num_format": "yyyy-mm-dd", "font_strikeout": True})
    for number in range(2, LAST + 1):
        is_struck = number in (3, 5)
        sheet.write_row(number - 1, 0, row(number), struck if is_struck else None)
    sheet.write(3, 4, 80, struck)
    sheet.write_number(4, 1, 46146, day)  # 2026-05-04, in a style of its own


def test_rows_that_are_struck_out_are_asked_about(
    ledger: Ledger, tmp_path: Path
) -> None:
    path = write_book(tmp_path / "log.xlsx", fill)
    taken = take_book(ledger, path)
    assert taken.receipt is not None
    assert taken.receipt.loaded == LAST - 1
    assert taken.receipt.remarks[0].startswith(
        "2 rows are struck out in the workbook and read as any other (row 3, 5): a "
    )


@pytest.mark.parametrize("off", ['<strike val="0"/>', '<strike val="false"/>', ""])
def test_a_font_that_strikes_nothing_out_is_not_asked_about(
    ledger: Ledger, tmp_path: Path, off: str
) -> None:
    path = write_book(tmp_path / "log.xlsx", fill)
    changed(path, ("<strike/>", off), part="styles.xml")
    taken = take_book(ledger, path)
    assert taken.receipt is not None
    assert "struck" not in str(taken.receipt.remarks)


def test_a_header_that_is_struck_out_is_not_asked_about(
    ledger: Ledger, tmp_path: Path
) -> None:
    def fill_header(book: Any, sheet: Any) -> None:
        struck = book.add_format({"font_strikeout": True})
        sheet.write_row(0, 0, ["Nr", "Day", "Crew", "Code", "Depth", "Note"], struck)
        sheet.write_row(1, 0, row(1))

    taken = take_book(ledger, write_book(tmp_path / "log.xlsx", fill_header))
    assert taken.receipt is not None
    assert "struck" not in str(taken.receipt.remarks)
