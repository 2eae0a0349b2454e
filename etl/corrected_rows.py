"""The rows of a file of corrections, however a spreadsheet saved it.

With commas, semicolons or tabs, in UTF-8, UTF-16 or Windows-1252, or as a workbook:
such a file is known by the columns in front of its first row, whatever its name.
"""

import csv
import io
import zipfile
import zlib
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from etl.saved_text import DELIMITERS, first_line, header_line, saved_text
from etl.staging.limits import MAX_LINE_CHARACTERS
from etl.staging.recognise import ZIP_ERRORS, ZIP_START
from etl.staging.workbook import read_first_sheet
from queries.errors import FirmsetError
from queries.readers.corrections import MARK_HEADERS, RECEIPT_HEADER

# An even number of bytes, for UTF-16.
LONGEST_HEADER = 65_536
# A workbook's texts stand in parts of these names (ECMA-376 part 1, 12.3.15 and
# 12.3.24), those of its first row at their beginning.
_TEXT_PARTS = ("xl/sharedStrings", "xl/worksheets/")
# And on a damaged or protected part.
_PART_ERRORS = (*ZIP_ERRORS, zlib.error, RuntimeError, EOFError)


def is_corrections(path: Path) -> bool:
    """Say whether a file is rejected rows that were written for correction."""
    with path.open("rb") as content:
        start = content.read(LONGEST_HEADER)
    if start.startswith(ZIP_START):
        return _may_be_marked(path) and _is_marked(_first(read_first_sheet(path, ".")))
    return _delimiter(header_line(start)) is not None


def read_corrected_rows(path: Path, decimal: str) -> list[list[str]]:
    """Return the file's rows as cells, the headers first, blank rows as [] or blanks.

    What a workbook holds as numbers has the sign `decimal`. FirmsetError where the
    file cannot be read.
    """
    content = path.read_bytes()
    if content.startswith(ZIP_START):
        return read_first_sheet(path, decimal)
    text = saved_text(path, content).text
    # A cell as long as a log's line may be given back; csv takes an eighth of it.
    csv.field_size_limit(MAX_LINE_CHARACTERS)
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text) or ",")
    try:
        return list(lines)
    except csv.Error as error:
        raise FirmsetError(
            f"{path}: line {lines.line_num}: is no CSV: {error}; expected the rows as "
            "firmset rejects wrote them"
        ) from error


def _delimiter(text: str) -> str | None:
    """Return what stands between the marks in the first line; None: they do not."""
    first = first_line(text)
    for delimiter in DELIMITERS:
        with suppress(csv.Error):
            if _is_marked(_first(csv.reader([first], delimiter=delimiter))):
                return delimiter
    return None


def _first(rows: Iterable[list[str]]) -> list[str]:
    return next(iter(rows), [])


def _is_marked(header: list[str]) -> bool:
    return header[: len(MARK_HEADERS)] == list(MARK_HEADERS)


def _may_be_marked(path: Path) -> bool:
    """Say whether the first mark stands where a workbook has its first row's texts.

    So that an ordinary log is not read twice: little of the file is looked at here.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            names = archive.namelist()
            parts = [name for name in names if name.startswith(_TEXT_PARTS)]
            return any(_begins_marked(archive, name) for name in parts[:20])
    except _PART_ERRORS:
        return False  # The reader of workbooks says what is wrong with it.


def _begins_marked(archive: zipfile.ZipFile, name: str) -> bool:
    with archive.open(name) as part:
        return RECEIPT_HEADER.encode() in part.read(LONGEST_HEADER)
