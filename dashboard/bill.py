"""A list of anchors as CSV or workbook: read whole or not, every fault named."""

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from dashboard.whole_number import whole_number
from etl.saved_text import delimiter_of, first_line, saved_text
from etl.sheets.kinds import quantity_of
from etl.staging.recognise import ZIP_START
from etl.staging.workbook import read_first_sheet
from queries.errors import FirmsetError, faults_error
from queries.readers.drilling_bill import BillLine
from queries.readers.drilling_support import LARGEST_EMBEDMENT_MM, Asked

LARGEST_BYTES = 1_000_000
MOST_LINES = 300
MOST_HOLES = 1_000_000
FAULTS_NAMED = 10
NEEDED = ("size", "embedment", "count")
COLUMNS = (*NEEDED, "method", "orientation")
EXAMPLE = "size,embedment,count,method,orientation\nM12,68,400,hammer,wall\n"


def parse_bill(
    content: bytes, name: str, choices: Mapping[str, Sequence[str]]
) -> list[BillLine]:
    """Return the lines of a bill: columns size, embedment (mm), count, and where known
    method and orientation.

    A CSV as a spreadsheet saves it, or a workbook's first sheet; an embedment may have
    its unit, as 2 3/8"; blank lines are skipped, row numbers are the file's.
    `choices`: what `size`, `method` and `orientation` may be, however a line spells
    it: m12, 1/2", Hollow bit. FirmsetError names file, row, column, value and what was
    expected of every fault, up to ten.
    """
    rows = _rows(content, name)
    heads = [head.strip().lower() for head in rows[0][1]]
    _check_heads(heads, name)
    lines: list[BillLine] = []
    faults: list[str] = []
    for number, cells in rows[1:]:
        if len(cells) > len(heads):
            faults.append(f"row {number}: {len(cells)} cells; expected {len(heads)}")
            continue
        padded = [*cells, *[""] * (len(heads) - len(cells))]
        values = dict(zip(heads, (cell.strip() for cell in padded), strict=True))
        values |= {
            column: spelled
            for column, known in choices.items()
            if (spelled := _known(values.get(column, ""), known))
        }
        found = [
            f"row {number}, column {column}: {values.get(column, '')!r}; "
            f"expected {expected}"
            for column, expected in _faults(values, choices)
        ]
        faults += found
        if not found:
            lines.append(_line(number, values))
    if faults:
        raise faults_error(name, faults, FAULTS_NAMED)
    if not lines:
        raise FirmsetError(f"{name}: no line with anchors; expected, as in {EXAMPLE!r}")
    return lines


def _rows(content: bytes, name: str) -> list[tuple[int, list[str]]]:
    """Return the rows that are not blank, with the number of the line they end on."""
    if len(content) > LARGEST_BYTES:
        raise FirmsetError(
            f"{name}: {len(content)} bytes; expected {LARGEST_BYTES} at most"
        )
    found = (
        _sheet_rows(content, name)
        if content.startswith(ZIP_START)
        else _csv_rows(content, name)
    )
    rows = []
    for number, cells in found:
        if any(cell.strip() for cell in cells):
            rows.append((number, cells))
        if len(rows) > MOST_LINES + 1:
            raise FirmsetError(
                f"{name}: more than {MOST_LINES} lines; expected so many at most"
            )
    if not rows:
        raise FirmsetError(f"{name}: is empty; expected, as in {EXAMPLE!r}")
    return rows


def _sheet_rows(content: bytes, name: str) -> Iterator[tuple[int, list[str]]]:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "bill.xlsx"
        path.write_bytes(content)
        try:
            rows = read_first_sheet(path, ".")
        except FirmsetError as error:
            raise FirmsetError(str(error).replace(str(path), name)) from error
    return iter(enumerate(rows, start=1))


def _csv_rows(content: bytes, name: str) -> Iterator[tuple[int, list[str]]]:
    text = saved_text(name, content).text
    if "\0" in text:
        raise FirmsetError(f"{name}: holds NUL bytes; expected a CSV")
    delimiter = delimiter_of(first_line(text.lstrip()))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for cells in reader:
            yield reader.line_num, cells
    except csv.Error as error:
        raise FirmsetError(
            f"{name}, row {reader.line_num}: {error}; expected a CSV"
        ) from error


def _known(cell: str, choices: Sequence[str]) -> str | None:
    """Return the choice that a cell spells, blanks, case and an inch's sign aside."""
    return {_plain(choice): choice for choice in choices}.get(_plain(cell))


def _plain(text: str) -> str:
    return re.sub(r'[\s_"″]', "", text).casefold()


def _check_heads(heads: Sequence[str], name: str) -> None:
    wrong = [head for head in heads if head not in COLUMNS]
    missing = [column for column in NEEDED if column not in heads]
    twice = sorted({head for head in heads if heads.count(head) > 1})
    said = [
        *(f"column {head!r} is not known" for head in wrong),
        *(f"column {column} is missing" for column in missing),
        *(f"column {head!r} comes twice" for head in twice if head in COLUMNS),
    ]
    if said:
        raise FirmsetError(
            f"{name}, row 1: {'; '.join(said)}; expected {', '.join(NEEDED)} and, "
            f"where known, method, orientation"
        )


def _faults(
    values: Mapping[str, str], choices: Mapping[str, Sequence[str]]
) -> list[tuple[str, str]]:
    """Return the column and what was expected of each value that cannot be used."""
    found = []
    if values["size"] not in choices["size"]:
        found.append(("size", "one of " + ", ".join(choices["size"])))
    embedment = _number(values["embedment"])
    if embedment is None or not 0 < embedment <= LARGEST_EMBEDMENT_MM:
        found.append(("embedment", f"mm above 0, at most {LARGEST_EMBEDMENT_MM:g}"))
    if whole_number(values["count"], MOST_HOLES) is None:
        found.append(("count", f"a whole number from 1 to {MOST_HOLES}"))
    found += [
        (column, "blank or one of " + ", ".join(choices[column]))
        for column in ("method", "orientation")
        if values.get(column) and values[column] not in choices[column]
    ]
    return found


def _number(text: str) -> float | None:
    try:
        return quantity_of(text, "mm")
    except ValueError:
        return None


def _line(number: int, values: Mapping[str, str]) -> BillLine:
    return BillLine(
        number,
        Asked(
            values["size"],
            _number(values["embedment"]) or 0.0,
            values.get("method") or None,
            values.get("orientation") or None,
        ),
        whole_number(values["count"], MOST_HOLES) or 0,
    )
