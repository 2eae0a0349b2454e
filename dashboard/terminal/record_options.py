"""The options of `firmset records`."""

import argparse
from typing import TypeAlias

from dashboard.terminal.options import (
    MOST,
    add_filter_options,
    add_reading_options,
    whole,
)
from queries.judgement import VERDICTS

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
ANY = "any"


def add_records(commands: Commands) -> None:
    """Add `firmset records`."""
    parser = commands.add_parser(
        "records", help="search among the installations: the list of the page Records"
    )
    add_filter_options(parser)
    parser.add_argument(
        "--verdict",
        choices=(*VERDICTS, ANY),
        help="of the checks in --check, or of any (default: nonconforming; with "
        "--record any)",
    )
    parser.add_argument(
        "--outcome",
        choices=("set", "abandoned", "replaced", "unrecorded", "not-abandoned"),
        help="what became of the anchor (default: all); not-abandoned: every one that "
        "was set",
    )
    parser.add_argument(
        "--record", metavar="ID", help="the site's own number, whole and as written"
    )
    parser.add_argument(
        "--begins", metavar="TEXT", help="how the site's own number begins"
    )
    parser.add_argument(
        "--wrench", type=str.upper, metavar="CODE", help="the torque wrench's code"
    )
    parser.add_argument(
        "--order",
        choices=("newest", "margin", "record"),
        default="newest",
        help="newest first; least margin first (one --check); by site and number",
    )
    parser.add_argument(
        "--limit",
        type=whole(0, MOST),
        default=50,
        metavar="N",
        help="how many to show (default: 50); 0: all, newest first",
    )
    add_reading_options(parser)
    parser.set_defaults(command=_records)


def _records(args: argparse.Namespace) -> int:
    from dashboard.terminal.records import records

    return records(args)
