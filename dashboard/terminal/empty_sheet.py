"""`firmset sheet`: an empty log and the sheets of master data, to be filled in."""

import argparse
import sys
from pathlib import Path

from dashboard.terminal.output import say
from etl.sheets import empty_log
from etl.sheets.empty_lists import KINDS, NAMES, empty_list
from etl.sheets.registry import SHEETS
from queries.errors import FirmsetError


def sheet(args: argparse.Namespace) -> int:
    """Print a list without rows or write it; without a name, what lists there are."""
    if args.name is None:
        if args.out is not None:
            raise FirmsetError(f"--out {args.out}: expected the NAME of a sheet, too")
        _list()
        return 0
    if args.name not in NAMES:
        raise FirmsetError(f"{args.name}: expected one of {', '.join(NAMES)}")
    if args.out is None:
        sys.stdout.write(empty_list(args.name, ".csv").decode("utf-8"))
        return 0
    _write(args.name, args.out)
    return 0


def _write(name: str, path: Path) -> None:
    """Write the list to a new file, as its name says; nothing is replaced."""
    is_known = name == empty_log.NAME or path.name.lower().startswith(name)
    kind = path.suffix.lower()
    if kind not in KINDS or not is_known:
        raise FirmsetError(
            f"--out {path}: expected {' or '.join(name + kind for kind in KINDS)}, or "
            f"more behind {name}: a load knows it by its name's beginning"
        )
    try:
        with path.open("xb") as target:
            target.write(empty_list(name, kind))
    except FileExistsError as error:
        raise FirmsetError(f"{path}: is there already, and is not replaced") from error
    except OSError as error:
        raise FirmsetError(f"{path}: cannot be written: {error.strerror}") from error
    if name == empty_log.NAME:
        say(f"{path}: a row for each anchor; firmset map {path} drafts its site map")
    else:
        say(f"{path}: fill in its rows, then firmset load {path}")


def _list() -> None:
    say(f"{empty_log.NAME}\n  {', '.join(empty_log.WHAT)}")
    for one in SHEETS:
        columns = (
            f"({column.name})" if column.may_be_blank else column.name
            for column in one.file_columns()
        )
        say(f"{one.name}\n  {', '.join(columns)}")
    say(
        "\nThose in brackets may be blank; of a log record_id, installed_on, crew_code "
        "and setting_code are needed. firmset sheet NAME --out NAME.xlsx begins one, "
        "with a page that says what each column is."
    )
