"""Write the rows of a small log as CSV, workbook or JSON Lines."""

import csv
import io
import json
from collections.abc import Sequence
from datetime import date, datetime
from importlib import import_module
from itertools import groupby
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from demo_data.cell_writers import Cell
from demo_data.small_log import SmallLog, file_rows

PYTHON_ENCODINGS = {"utf-8": "utf-8", "windows-1252": "cp1252"}
# A workbook says when it was made; a fixed instant keeps it the same at every run.
MADE_AT = datetime(2026, 10, 1)
INVENTED = "Invented for demonstration: no real site, no real anchors"


def write_file(log: SmallLog, log_rows: pl.DataFrame, folder: Path) -> None:
    """Write a small log into a folder, in the format its file name ends in."""
    path = folder / log.file_name
    rows = list(file_rows(log_rows, log.layout))
    match path.suffix:
        case ".csv":
            _write_csv(log, rows, path)
        case ".xlsx":
            _write_workbook(log, rows, path)
        case ".jsonl":
            is_broken = (log_rows["fault"] == "broken_line").fill_null(value=False)
            _write_json_lines(log, rows, is_broken.to_list(), path)
        case suffix:
            raise ValueError(f"{path}: no writer for {suffix}")


def _write_csv(log: SmallLog, rows: Sequence[dict[str, Cell]], path: Path) -> None:
    files = log.layout.files
    text = io.StringIO()
    writer = csv.DictWriter(
        text,
        [column.header for column in log.layout.columns],
        delimiter=str(files.get("delimiter", ",")),
        lineterminator="\n",
    )
    writer.writeheader()
    writer.writerows(rows)
    encoding = PYTHON_ENCODINGS[str(files.get("encoding", "utf-8"))]
    path.write_bytes(text.getvalue().encode(encoding))


def _write_json_lines(
    log: SmallLog,
    rows: Sequence[dict[str, Cell]],
    is_broken: Sequence[bool],
    path: Path,
) -> None:
    """Write one object a line without its blanks; broken lines end in the middle."""
    zone = ZoneInfo(log.site.time_zone)
    lines = []
    for row, broken in zip(rows, is_broken, strict=True):
        entries = {
            key: cell.replace(tzinfo=zone).isoformat()
            if isinstance(cell, datetime)
            else cell
            for key, cell in row.items()
            if cell is not None
        }
        line = json.dumps(entries, ensure_ascii=False)
        lines.append(line[: len(line) // 2] if broken else line)
    path.write_text("\n".join(lines) + "\n", "utf-8")


def _write_workbook(log: SmallLog, rows: Sequence[dict[str, Cell]], path: Path) -> None:
    """Write two title rows, the headers and the rows; equal neighbours are merged.

    xlsxwriter is needed only to make the committed workbook anew, not to run firmset.
    """
    workbook: Any = import_module("xlsxwriter").Workbook
    headers = [column.header for column in log.layout.columns]
    with workbook(path, {"strings_to_formulas": False}) as book:
        book.set_properties({"created": MADE_AT})
        sheet = book.add_worksheet(str(log.layout.files["sheet"]))
        bold = book.add_format({"bold": True})
        day = book.add_format({"num_format": "dd/mm/yyyy", "valign": "top"})
        last = len(headers) - 1
        sheet.merge_range(0, 0, 0, last, f"{log.site.name}: anchors set", bold)
        sheet.merge_range(1, 0, 1, last, INVENTED, bold)
        sheet.write_row(2, 0, headers, bold)
        merged = [c.header for c in log.layout.columns if c.fill_down]
        for number, row in enumerate(rows, start=3):
            for place, header in enumerate(headers):
                if header not in merged and row[header] is not None:
                    sheet.write(number, place, row[header])
        for depth in range(len(merged)):
            _write_merged(sheet, rows, merged[: depth + 1], day)


def _write_merged(
    sheet: Any,
    rows: Sequence[dict[str, Cell]],
    headers: Sequence[str],
    day: Any,
) -> None:
    """Write the last of `headers`, one cell for each run of rows equal in all of them.

    An area's cell thus never reaches over into the next day.
    """
    place = len(headers) - 1
    first = 3
    for key, run in groupby(rows, lambda row: [row[header] for header in headers]):
        last = first + len(list(run)) - 1
        style = day if isinstance(key[-1], date) else None
        if last > first:
            sheet.merge_range(first, place, last, place, "", style)
        sheet.write(first, place, key[-1], style)
        first = last + 1
