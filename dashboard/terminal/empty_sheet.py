"""`firmset sheet`: the sheets of master data, and each one empty."""

import argparse
import sys

from dashboard.terminal.output import say
from etl.sheets.registry import SHEETS, sheet_named
from queries.errors import FirmsetError


def sheet(args: argparse.Namespace) -> int:
    """Print a sheet without rows, as CSV; without a name, what sheets there are."""
    if args.name is not None:
        chosen = sheet_named(args.name)
        if chosen is None:
            raise FirmsetError(
                f"{args.name}: expected one of {', '.join(one.name for one in SHEETS)}"
            )
        sys.stdout.write(chosen.empty())
        return 0
    for one in SHEETS:
        columns = (
            f"({column.name})" if column.may_be_blank else column.name
            for column in one.file_columns()
        )
        say(f"{one.name}\n  {', '.join(columns)}")
    say("\nThose in brackets may be blank. firmset sheet NAME > NAME.csv begins one.")
    return 0
