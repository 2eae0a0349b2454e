"""All sheets, in the order in which they are loaded, and how a file is recognised."""

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from etl.sheets import (
    bits,
    crews,
    inspectors,
    planned_holes,
    setting_data,
    trainings,
    wrench_calibrations,
)
from etl.sheets.cells import SUFFIXES, header_of
from etl.sheets.declaration import Sheet
from queries.errors import FirmsetError

# Setting data first: others may name its codes. A new sheet is a file and a line here.
SHEETS: tuple[Sheet, ...] = (
    setting_data.SHEET,
    wrench_calibrations.SHEET,
    crews.SHEET,
    trainings.SHEET,
    planned_holes.SHEET,
    inspectors.SHEET,
    bits.SHEET,
)


def sheet_of_content(content: str) -> Sheet | None:
    """Return the sheet that a receipt of this content is of, or None."""
    return next((sheet for sheet in SHEETS if sheet.content == content), None)


def sheet_of_file(path: Path) -> Sheet | None:
    """Return the sheet that a file is by its name and header; None for a site log.

    `crews.csv` is one by its name alone, so that a wrong header is reported; more in
    the name, as in `crews_2026.csv`, asks for a header that is mostly the sheet's.
    """
    if path.suffix.lower() not in SUFFIXES:
        return None
    stem = re.sub(r"[\s-]", "_", path.stem.lower())
    for sheet in SHEETS:
        if stem == sheet.name:
            return sheet
        rest = stem.removeprefix(sheet.name)
        if rest != stem and not rest[0].isalpha() and _has_header_of(path, sheet):
            return sheet
    return None


def sheet_of_header(path: Path) -> Sheet | None:
    """Return the sheet that most of a file's column names are of, whatever its name."""
    if path.suffix.lower() not in SUFFIXES:
        return None
    try:
        header = header_of(path)
    except (FirmsetError, OSError):
        return None
    return next((sheet for sheet in SHEETS if _is_mostly_of(header, sheet)), None)


def _has_header_of(path: Path, sheet: Sheet) -> bool:
    try:
        return _is_mostly_of(header_of(path), sheet)
    except FirmsetError:
        return True  # The load says why it cannot be read.


def _is_mostly_of(header: Sequence[str], sheet: Sheet) -> bool:
    names = {column.name for column in sheet.file_columns()}
    return 2 * len(names.intersection(header)) > len(header)


def sheets_among(files: Iterable[Path]) -> dict[Path, Sheet]:
    """Return the files that are sheets, in the order in which to load them."""
    found = {path: sheet for path in files if (sheet := _sheet_if_read(path))}
    return dict(sorted(found.items(), key=lambda item: SHEETS.index(item[1])))


def _sheet_if_read(path: Path) -> Sheet | None:
    try:
        return sheet_of_file(path)
    except OSError:
        return None  # Taken for a log, it fails by its name.
