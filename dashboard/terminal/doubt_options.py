"""The options of the commands that ask how far a record or an inspector can be read."""

import argparse
from typing import TypeAlias

from dashboard.terminal.options import (
    add_filter_options,
    add_place_options,
    add_reading_options,
)

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def add_doubts(commands: Commands) -> None:
    """Add `firmset doubts`."""
    parser = commands.add_parser(
        "doubts",
        help="batches (site, crew, day) whose record is worth a look, and why that may "
        "be innocent",
    )
    parser.add_argument(
        "--rows",
        nargs=3,
        metavar=("SITE", "CREW", "DAY"),
        help="the rows of one batch, with the signs each shows, its file and row",
    )
    add_place_options(parser)
    add_reading_options(parser)
    # A batch is all that a crew logged on a day, of every size and check.
    parser.set_defaults(command=_doubts, size=(), check=())


def add_doubtful_unknown(parser: argparse.ArgumentParser) -> None:
    """Add --doubtful-unknown."""
    parser.add_argument(
        "--doubtful-unknown",
        action="store_true",
        help="in the range of truth (rate_if_...) count all checks of the batches in "
        "firmset doubts as unknown; all else stays",
    )


def _doubts(args: argparse.Namespace) -> int:
    from dashboard.terminal.doubts import doubts

    return doubts(args)


def add_inspectors(commands: Commands) -> None:
    """Add `firmset inspectors`."""
    parser = commands.add_parser(
        "inspectors",
        help="crews under an average inspector; where crews and inspectors cannot be "
        "separated, which re-inspections would",
    )
    add_filter_options(parser)
    add_reading_options(parser)
    parser.set_defaults(command=_inspectors)


def _inspectors(args: argparse.Namespace) -> int:
    from dashboard.terminal.inspectors import inspectors

    return inspectors(args)
