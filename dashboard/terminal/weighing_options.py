"""The options of the commands that weigh counts."""

import argparse
from collections.abc import Callable
from typing import TypeAlias

from dashboard.terminal.options import (
    a_date,
    add_filter_options,
    add_format_option,
    add_store_option,
)

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
Command = Callable[[argparse.Namespace], int]


def add_trend(commands: Commands) -> None:
    """Add `firmset trend`."""
    parser = commands.add_parser(
        "trend", help="one check over time, with limits and what stands out"
    )
    parser.add_argument(
        "--by",
        choices=("week", "month"),
        default="week",
        help="ISO weeks or months (default: week)",
    )
    parser.add_argument(
        "--baseline-from",
        type=a_date,
        metavar="DATE",
        help="limits come from the periods with a day from here on (default: the first "
        "12 periods with anything judged)",
    )
    parser.add_argument(
        "--baseline-to", type=a_date, metavar="DATE", help="... to here"
    )
    _finish(parser, "trend")


def add_compare(commands: Commands) -> None:
    """Add `firmset compare`."""
    parser = commands.add_parser(
        "compare", help="each site or crew against the others, for its own mix"
    )
    parser.add_argument(
        "--by",
        choices=("site", "crew"),
        default="site",
        help="what is compared (default: site)",
    )
    _finish(parser, "compare")


def add_retrain(commands: Commands) -> None:
    """Add `firmset retrain`."""
    parser = commands.add_parser(
        "retrain", help="which crew to retrain on which check, first"
    )
    parser.add_argument(
        "--budget",
        type=a_count,
        default=5,
        metavar="N",
        help="how many you can act on (default: 5)",
    )
    _finish(parser, "retrain")


def a_count(text: str) -> int:
    """Return a whole number from 1 on."""
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text}: expected a number from 1 on")
    return number


def _finish(parser: argparse.ArgumentParser, name: str) -> None:
    """Add what all of them share, and run the command only when it is asked for."""

    def run(args: argparse.Namespace) -> int:
        from dashboard.terminal import weighing

        command: Command = getattr(weighing, name)
        return command(args)

    add_filter_options(parser)
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=run)
