"""The cells of a sheet's file: a CSV as a spreadsheet saves it, or a workbook.

Of a workbook the first sheet is read, its first row the column names.
"""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from etl.saved_text import (
    GUESSED,
    delimiter_of,
    first_line,
    header_line,
    saved_text,
)
from etl.staging.workbook import read_first_sheet
from queries.errors import FirmsetError

SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx")
NOT_UTF8 = "read as Windows-1252, as it is not UTF-8: look at letters with accents"
# A workbook has dates as instants: their midnight was not typed.
_MIDNIGHT = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) 00:00:00")

Record = tuple[int, list[str]]

# No sheet has one; a file of other contents may be one line altogether. An even number
# of bytes, for UTF-16.
LONGEST_HEADER = 100_000


@dataclass(frozen=True)
class Table:
    """What a sheet's file holds: its header, and the records that are not blank.

    A record has its row's number as a spreadsheet counts them, the header's 1, and its
    cells. `remarks` say how the file was read where that is not certain.
    """

    header: list[str]
    records: tuple[Record, ...]
    remarks: tuple[str, ...] = ()


def header_of(path: Path) -> list[str]:
    """Return the names in a file's first row; FirmsetError where it has none to read.

    Of a CSV whatever its encoding: a header of ASCII can be read in most.
    """
    if _is_workbook(path):
        return _trimmed(next(iter(read_first_sheet(path, ".")), []), 0)
    with path.open("rb") as content:
        return _split_header(header_line(content.read(LONGEST_HEADER)))[1]


def read_table(path: Path) -> Table:
    """Return a sheet's header and rows; FirmsetError where the file cannot be read."""
    if _is_workbook(path):
        return _of_workbook(path)
    try:
        return _of_csv(path)
    except csv.Error as error:
        raise FirmsetError(
            f"{path}: is no CSV with commas, semicolons or tabs: {error}; save it as "
            "one, or as an .xlsx workbook"
        ) from error


def _is_workbook(path: Path) -> bool:
    return path.suffix.lower() == ".xlsx"


def _of_csv(path: Path) -> Table:
    saved = saved_text(path, path.read_bytes())
    delimiter, header = _split_header(first_line(saved.text))
    lines = io.StringIO(saved.text, newline="")
    # Strict: else a quote that is never closed would swallow the rest of the file.
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    next(reader, None)
    remarks = (NOT_UTF8,) if saved.encoding == GUESSED else ()
    return Table(header, tuple(_records(reader, len(header))), remarks)


def _of_workbook(path: Path) -> Table:
    rows = read_first_sheet(path, ".")
    header = _trimmed(rows[0], 0) if rows else []
    cells = ([_MIDNIGHT.sub(r"\1", cell) for cell in row] for row in rows[1:])
    return Table(header, tuple(_records(cells, len(header))))


def _split_header(line: str) -> tuple[str, list[str]]:
    """Return a header line's delimiter and its names."""
    delimiter = delimiter_of(line)
    return delimiter, _trimmed(next(csv.reader([line], delimiter=delimiter), []), 0)


def _records(rows: Iterator[list[str]], width: int) -> Iterator[Record]:
    for number, cells in enumerate(rows, start=2):
        if any(cell.strip() for cell in cells):
            yield number, _trimmed(cells, width)


def _trimmed(cells: list[str], width: int) -> list[str]:
    """Return cells without spaces around them.

    Blank ones at the end for which the header has no column are left out:
    spreadsheets write such.
    """
    trimmed = [cell.strip() for cell in cells]
    while len(trimmed) > width and not trimmed[-1]:
        trimmed.pop()
    return trimmed
