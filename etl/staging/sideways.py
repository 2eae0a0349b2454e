"""Logs that lie on their side, turned: an anchor is a row then, its column's number.

Both files are as the readers leave them: what follows does not know of it.
"""

import csv
from collections.abc import Sequence
from contextlib import closing
from itertools import zip_longest
from pathlib import Path

from etl.sandbox.sheet import TOO_LONG
from etl.sandbox.workbook import ROWS_NAME, WIDTH_NAME
from etl.site_map import SiteMap
from etl.staging import limits
from etl.staging.records import records_of
from etl.staging.text import lines_of
from queries.errors import FirmsetError


def turned(rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return the columns of rows as rows, as long as there are rows."""
    return [list(cells) for cells in zip_longest(*rows, fillvalue="")]


def turn_text(
    path: Path, source: Path, target: Path, site_map: SiteMap
) -> list[list[str]]:
    """Write separated text in UTF-8 on its side, and return its rows as they stood.

    `path` is the file that was sent, `source` what it holds. FirmsetError where a row
    cannot be turned.
    """
    rows: list[list[str]] = []
    with closing(lines_of(source)) as lines:
        for record in records_of(lines, site_map.delimiter):
            if record.fault:
                raise FirmsetError(f"{path}: row {record.row}: {record.fault}")
            _require_few(path, record.row)
            rows.append(record.cells)
    with target.open("w", encoding="utf-8", newline="") as lines_turned:
        writer = csv.writer(
            lines_turned, delimiter=site_map.delimiter, lineterminator="\n"
        )
        writer.writerows(turned(rows))
    return rows


def turn_sheet(path: Path, folder: Path) -> list[list[str]]:
    """Turn a sheet's rows as the sandbox wrote them, with where a cell is an error.

    Returns the rows as they stood, row n at place n - 1. FirmsetError as turn_text.
    """
    cells: dict[tuple[int, int], str] = {}
    faults: set[tuple[int, int]] = set()
    last_row = 0
    with (folder / ROWS_NAME).open(encoding="utf-8", newline="") as lines:
        for number, in_cells, *row in csv.reader(lines):
            last_row = int(number)
            _require_few(path, last_row)
            places = in_cells.strip(",")
            if places == TOO_LONG:
                raise FirmsetError(f"{path}: row {number} is too long to be read")
            faults |= {(int(place), last_row) for place in places.split(",") if place}
            cells |= {
                (place, last_row): cell
                for place, cell in enumerate(row, start=1)
                if cell
            }
    with (folder / ROWS_NAME).open("w", encoding="utf-8", newline="") as target:
        writer = csv.writer(target, quoting=csv.QUOTE_ALL, lineterminator="\n")
        names = range(1, last_row + 1)
        for place in sorted({place for place, _ in cells}):
            wrong = [str(name) for name in names if (place, name) in faults]
            in_cells = f",{','.join(wrong)}," if wrong else ""
            row = [cells.get((place, name), "") for name in names]
            writer.writerow([place, in_cells, *row])
    (folder / WIDTH_NAME).write_text(str(last_row), "ascii")
    width = max((place for place, _ in cells), default=0)
    across = range(1, width + 1)
    return [[cells.get((place, name), "") for place in across] for name in names]


def _require_few(path: Path, row: int) -> None:
    if row > limits.MAX_COLUMNS:
        raise FirmsetError(
            f"{path}: has more than {limits.MAX_COLUMNS} rows, which a log on its side "
            "has not; expected [files] sideways = false"
        )
