"""The cells of a sheet's file: a comma or semicolon CSV in UTF-8, or a workbook.

Of a workbook the first sheet is read, its first row the column names.
"""

import csv
import re
from collections.abc import Iterator
from pathlib import Path

from etl.staging.workbook import read_first_sheet
from queries.errors import FirmsetError

SUFFIXES = (".csv", ".xlsx")
DELIMITERS = (",", ";")
# A workbook has dates as instants: their midnight was not typed.
_MIDNIGHT = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) 00:00:00")

Record = tuple[int, list[str]]


# No sheet has one; a file of other contents may be one line altogether.
LONGEST_HEADER = 100_000


def header_of(path: Path) -> list[str]:
    """Return the names in a file's first row; FirmsetError where it has none to read.

    Of a CSV whatever its encoding: a header of ASCII can be read in any.
    """
    if _is_workbook(path):
        return _trimmed(next(iter(read_first_sheet(path, ".")), []), 0)
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as lines:
        return _split_header(lines.readline(LONGEST_HEADER))[1]


def read_records(path: Path) -> tuple[list[str], list[Record]]:
    """Return the header, and the records that are not blank with their numbers.

    Numbers are the rows' as a spreadsheet counts them, the header's 1. FirmsetError
    where the file cannot be read.
    """
    try:
        return _of_workbook(path) if _is_workbook(path) else _of_csv(path)
    except (UnicodeDecodeError, csv.Error) as error:
        raise FirmsetError(
            f"{path}: is not a comma or semicolon CSV in UTF-8: {error}; save it as "
            "one, or as an .xlsx workbook"
        ) from error


def _is_workbook(path: Path) -> bool:
    return path.suffix.lower() == ".xlsx"


def _of_csv(path: Path) -> tuple[list[str], list[Record]]:
    with path.open(encoding="utf-8-sig", newline="") as lines:
        delimiter, header = _split_header(lines.readline())
        # Strict: else a quote that is never closed would swallow the rest of the file.
        reader = csv.reader(lines, delimiter=delimiter, strict=True)
        return header, list(_records(reader, len(header)))


def _of_workbook(path: Path) -> tuple[list[str], list[Record]]:
    rows = read_first_sheet(path, ".")
    header = _trimmed(rows[0], 0) if rows else []
    cells = ([_MIDNIGHT.sub(r"\1", cell) for cell in row] for row in rows[1:])
    return header, list(_records(cells, len(header)))


def _split_header(line: str) -> tuple[str, list[str]]:
    """Return a header line's delimiter, the one that splits it most, and its names."""
    split = [
        (delimiter, _trimmed(cells, 0))
        for delimiter in DELIMITERS
        for cells in csv.reader([line], delimiter=delimiter)
    ]
    return max(split, key=lambda found: len(found[1]), default=(DELIMITERS[0], []))


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
