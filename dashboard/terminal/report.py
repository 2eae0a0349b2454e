"""`firmset report`: one site or crew on one page."""

import argparse
import os
from pathlib import Path
from tempfile import NamedTemporaryFile

from dashboard.sheets.draw import draw_sheet
from dashboard.sheets.read import read_sheet
from dashboard.terminal.options import selection_of
from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.store import Store

PDF_SIGNATURE = b"%PDF-"


def report(args: argparse.Namespace) -> int:
    """Write the sheet of one site or crew, and print the file's name."""
    kind, code = _asked(args)
    if args.out is not None:
        _refuse_other(args.out)
    with Store(args.store).reader() as con:
        choices = read_choices(con)
        sheet = read_sheet(con, kind, code, selection_of(args, choices), choices)
    path = args.out or Path(sheet.file_name)
    _refuse_other(path)
    _write(path, draw_sheet(sheet))
    print(path)
    return 0


def _asked(args: argparse.Namespace) -> tuple[str, str]:
    """Return the kind of sheet and the code it is of."""
    kind = "crew" if args.crew else "site"
    codes = args.crew or args.site
    if not codes:
        raise FirmsetError("report: expected --site CODE or --crew CODE, found neither")
    if len(codes) > 1:
        raise FirmsetError(
            f"--{kind} {','.join(codes)}: expected one {kind}, a sheet is of one"
        )
    return kind, codes[0]


def _refuse_other(path: Path) -> None:
    """Raise FirmsetError where something that is not a PDF would be lost."""
    if path.is_dir():
        raise FirmsetError(f"{path}: is a folder; expected a file for the PDF")
    if not path.parent.is_dir():
        raise FirmsetError(f"{path}: there is no folder {path.parent}")
    if not path.exists():
        return
    try:
        with path.open("rb") as file:
            start = file.read(len(PDF_SIGNATURE))
    except OSError as error:
        raise FirmsetError(f"{path}: cannot be read: {error.strerror}") from error
    if start != PDF_SIGNATURE:
        raise FirmsetError(f"{path}: is there already, is no PDF, and is not replaced")


def _write(path: Path, content: bytes) -> None:
    """Write the whole file or nothing: a PDF that is replaced is never half gone."""
    try:
        with NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name[:40]}.", delete=False
        ) as file:
            partial = Path(file.name)
            file.write(content)
    except OSError as error:
        raise FirmsetError(f"{path}: cannot be written: {error.strerror}") from error
    try:
        partial.chmod(0o666 & ~_umask())
        partial.replace(path)
    except OSError as error:
        partial.unlink(missing_ok=True)
        raise FirmsetError(f"{path}: cannot be written: {error.strerror}") from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
