"""One sheet of an .xlsx workbook as texts (ECMA-376 part 1, SpreadsheetML).

Read as a stream: what is in memory is the shared texts and a few rows, and a
lone cell at the sheet's far corner costs nothing.
"""

import csv
import posixpath
import zipfile
from pathlib import Path

from etl.sandbox.shared import Styles, read_shared_texts, read_styles
from etl.sandbox.sheet import SheetReader
from etl.sandbox.xml_stream import Element, collect, feed

MAX_UNPACKED_BYTES = 512 * 1024**2
MAX_RATIO = 200
RATIO_FLOOR_BYTES = 64 * 1024**2
ROWS_NAME = "rows.csv"
WIDTH_NAME = "width"
STRUCK_NAME = "struck"


def write_sheet_texts(path: Path, decimal: str, sheet: str, folder: Path) -> None:
    """Write a sheet's rows that hold anything; ValueError says what fails.

    `sheet` is its name, '' the first one; numbers have the sign `decimal`. Columns of
    rows.csv: the row's number; ",2,7," where cells 2 and 7 are errors, "long" where the
    row is too long to keep; the cells, in a short line the last ones left out. `width`
    holds their number, `struck` the numbers of the rows that are struck out.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            _check_size(path, archive)
            parts = _Parts(archive)
            reader = SheetReader(parts.texts(), parts.styles(decimal))
            _write(archive, parts.sheet_name(sheet), reader, folder)
    except (zipfile.BadZipFile, NotImplementedError, EOFError, KeyError) as error:
        raise ValueError(f"is a damaged workbook ({error}); send it again") from error


def _check_size(path: Path, archive: zipfile.ZipFile) -> None:
    if any(entry.flag_bits & 1 for entry in archive.infolist()):
        raise ValueError("is protected by a password; save it without one")
    unpacked = sum(entry.file_size for entry in archive.infolist())
    megabytes = unpacked // 1024**2
    if unpacked > MAX_UNPACKED_BYTES:
        raise ValueError(
            f"unpacks to {megabytes} MB, over the limit of "
            f"{MAX_UNPACKED_BYTES // 1024**2} MB; send the sheet as CSV"
        )
    if unpacked > max(RATIO_FLOOR_BYTES, path.stat().st_size * MAX_RATIO):
        raise ValueError(
            f"unpacks to {megabytes} MB, more than {MAX_RATIO} times its size, as no "
            "log does; send the sheet as CSV"
        )


class _Parts:
    """Where the parts of a workbook are: its relations name them."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        relations = [
            attributes
            for name, attributes in collect(
                archive, "xl/_rels/workbook.xml.rels", ("Relationship",)
            )
        ]
        self._targets = {
            found.get("Id", ""): _part_name(found.get("Target", ""))
            for found in relations
        }
        self._by_kind = {
            posixpath.basename(found.get("Type", "")): _part_name(
                found.get("Target", "")
            )
            for found in relations
        }
        self._workbook: list[Element] = collect(
            archive, "xl/workbook.xml", ("sheet", "workbookPr")
        )

    def texts(self) -> list[str]:
        name = self._by_kind.get("sharedStrings")
        return read_shared_texts(self._archive, name) if name else []

    def styles(self, decimal: str) -> Styles:
        is_1904 = any(
            name == "workbookPr" and found.get("date1904") in ("1", "true")
            for name, found in self._workbook
        )
        name = self._by_kind.get("styles")
        return read_styles(self._archive, name, decimal, is_1904=is_1904)

    def sheet_name(self, wanted: str) -> str:
        """Return the part of the sheet of that name, or of the first."""
        sheets = {
            found.get("name", ""): next(
                (value for key, value in found.items() if key.endswith(":id")), ""
            )
            for name, found in self._workbook
            if name == "sheet"
        }
        if not sheets:
            raise ValueError("has no sheet")
        if wanted and wanted not in sheets:
            raise ValueError(f"has no sheet {wanted!r}; it has {', '.join(sheets)}")
        relation = sheets[wanted or next(iter(sheets))]
        return self._targets[relation]


def _part_name(target: str) -> str:
    """Return an entry's name: targets are relative to xl/ unless they begin with /."""
    return posixpath.normpath(posixpath.join("/xl", target)).lstrip("/")


def _write(
    archive: zipfile.ZipFile, name: str, reader: SheetReader, folder: Path
) -> None:
    with (folder / ROWS_NAME).open("w", encoding="utf-8", newline="") as target:
        # Every cell in quotes: a text may hold line breaks.
        writer = csv.writer(target, quoting=csv.QUOTE_ALL, lineterminator="\n")
        width = 0
        for _ in feed(archive, name, reader.handlers()):
            for row, cells, faults in reader.take():
                width = max(width, *cells)
                writer.writerow(
                    [row, faults, *[cells.get(i, "") for i in range(1, width + 1)]]
                )
    (folder / WIDTH_NAME).write_text(str(width), "ascii")
    (folder / STRUCK_NAME).write_text(" ".join(map(str, reader.struck)), "ascii")
