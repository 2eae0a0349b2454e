"""`firmset sheet`: the sheets of master data, and each one empty."""

import argparse
import sys
from pathlib import Path

from dashboard.terminal.output import say
from etl.sheets.declaration import Sheet
from etl.sheets.empty_workbook import empty_workbook
from etl.sheets.registry import SHEETS, sheet_named
from queries.errors import FirmsetError


def sheet(args: argparse.Namespace) -> int:
    """Print a sheet without rows or write it; without a name, what sheets there are."""
    if args.name is None:
        if args.out is not None:
            raise FirmsetError(f"--out {args.out}: expected the NAME of a sheet, too")
        _list()
        return 0
    chosen = sheet_named(args.name)
    if chosen is None:
        raise FirmsetError(
            f"{args.name}: expected one of {', '.join(one.name for one in SHEETS)}"
        )
    if args.out is None:
        sys.stdout.write(chosen.empty())
        return 0
    _write(chosen, args.out)
    return 0


def _write(chosen: Sheet, path: Path) -> None:
    """Write the sheet to a new file, as its name says; nothing is replaced."""
    contents = {
        ".csv": lambda: chosen.empty().encode("utf-8"),
        ".xlsx": lambda: empty_workbook(chosen),
    }
    kind = path.suffix.lower()
    if kind not in contents or not path.name.lower().startswith(chosen.name):
        raise FirmsetError(
            f"--out {path}: expected {chosen.name}.csv or {chosen.name}.xlsx, or more "
            f"behind {chosen.name}: a load knows it by its name's beginning"
        )
    try:
        with path.open("xb") as target:
            target.write(contents[kind]())
    except FileExistsError as error:
        raise FirmsetError(f"{path}: is there already, and is not replaced") from error
    except OSError as error:
        raise FirmsetError(f"{path}: cannot be written: {error.strerror}") from error
    say(f"{path}: fill in its rows, then firmset load {path}")


def _list() -> None:
    for one in SHEETS:
        columns = (
            f"({column.name})" if column.may_be_blank else column.name
            for column in one.file_columns()
        )
        say(f"{one.name}\n  {', '.join(columns)}")
    say(
        "\nThose in brackets may be blank. firmset sheet NAME --out NAME.xlsx begins "
        "one, with a page that says what each column is."
    )
