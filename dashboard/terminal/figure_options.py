"""The options of the commands that show what the edition holds."""

import argparse
from collections.abc import Callable
from typing import TypeAlias

from dashboard.terminal.options import (
    add_filter_options,
    add_reading_options,
    add_units_option,
)

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
Command = Callable[[argparse.Namespace], int]


def figure(name: str) -> Command:
    """Return a command of dashboard.terminal.figures, imported when it runs."""

    def run(args: argparse.Namespace) -> int:
        from dashboard.terminal import figures

        command: Command = getattr(figures, name)
        return command(args)

    return run


def add_receipts(commands: Commands) -> None:
    """Add `firmset receipts`."""
    parser = commands.add_parser("receipts", help="what became of each loaded file")
    add_reading_options(parser)
    parser.set_defaults(command=figure("receipts"))


def add_rejects(commands: Commands) -> None:
    """Add `firmset rejects`."""
    parser = commands.add_parser(
        "rejects",
        help="the rows that could not be taken; with --format csv as the sites wrote "
        "them, to be corrected and loaded again",
    )
    parser.add_argument(
        "--receipt", type=int, metavar="N", help="of one receipt (default: of all)"
    )
    parser.add_argument(
        "--with-cleared",
        action="store_true",
        help="also those whose records a later file brought, and those that are no "
        "installations (not with csv)",
    )
    add_reading_options(parser)
    parser.set_defaults(command=figure("rejects"))


def add_record(commands: Commands) -> None:
    """Add `firmset record`."""
    parser = commands.add_parser("record", help="one installation, down to its row")
    parser.add_argument("site_code", metavar="SITE")
    parser.add_argument("record_id", metavar="RECORD_ID")
    add_units_option(parser)
    add_reading_options(parser)
    parser.set_defaults(command=figure("record"))


def add_verify(commands: Commands) -> None:
    """Add `firmset verify`."""
    parser = commands.add_parser(
        "verify",
        help="prove that the tallies, the verdicts and the receipts are what the rows "
        "give; exit 1 and a list where they are not",
    )
    add_reading_options(parser)
    parser.set_defaults(command=figure("verify"))


def add_ratios(commands: Commands) -> None:
    """Add `firmset ratios`."""
    parser = commands.add_parser(
        "ratios",
        help="nonconforming anchors by indicative cone ratio, to order follow-up",
    )
    add_filter_options(parser)
    add_reading_options(parser)
    parser.set_defaults(command=figure("ratios"))
