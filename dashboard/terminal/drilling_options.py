"""The options of `firmset drilling`."""

import argparse
from importlib import import_module
from pathlib import Path

from dashboard.terminal.options import (
    add_reading_options,
    add_units_option,
    comma_list,
    positive,
    whole,
)
from dashboard.terminal.weighing_options import Command, Commands

MOST_CREWS = 1_000


def add_drilling(commands: Commands) -> None:
    """Add `firmset drilling`."""
    parser = commands.add_parser(
        "drilling",
        help="minutes per good hole of each embedment (--size), hours for a list of "
        "anchors (--bill), or what the drilling times are worth (neither)",
    )
    parser.add_argument("--size", metavar="SIZE", help="anchor size, such as M12")
    parser.add_argument(
        "--embedment",
        type=millimetres,
        default=(),
        metavar="MM",
        help="effective embedments that the engineer offers, mm, comma between them "
        "(default: those of the size's setting data)",
    )
    parser.add_argument(
        "--reference",
        type=number,
        metavar="MM",
        help="the embedment that others are compared with (default: the deepest)",
    )
    parser.add_argument(
        "--bill",
        type=Path,
        metavar="FILE",
        help="a CSV or workbook: size, embedment, count and, where known, method, "
        "orientation",
    )
    parser.add_argument(
        "--site", metavar="CODE", help="a site of the logs (default: a new one)"
    )
    parser.add_argument(
        "--method", metavar="NAME", help="drill method (default: the size's commonest)"
    )
    parser.add_argument(
        "--orientation",
        metavar="NAME",
        help="floor, wall or soffit (default: as they are mixed in the logs)",
    )
    parser.add_argument(
        "--crews",
        type=whole(1, MOST_CREWS),
        default=1,
        metavar="N",
        help="how many crews share the work: more of them even out (default: 1)",
    )
    parser.add_argument(
        "--vibration",
        type=number,
        metavar="M_S2",
        help="the tool's vibration, m/s²: adds exposure points",
    )
    parser.add_argument(
        "--holes-per-shift",
        type=positive,
        metavar="N",
        help="of one pair of hands (default: the median of a crew's day in the logs)",
    )
    add_units_option(parser)
    add_reading_options(parser)
    parser.set_defaults(command=_run)


def number(text: str) -> float:
    """Return a number, not endless."""
    try:
        value = float(text)
    except ValueError:
        value = float("inf")
    if not abs(value) < float("inf"):
        raise argparse.ArgumentTypeError(f"{text!r}: expected a number such as 68.5")
    return value


def millimetres(text: str) -> tuple[float, ...]:
    """Return numbers with commas between them, each once."""
    return tuple(dict.fromkeys(number(item) for item in comma_list(text)))


def _run(args: argparse.Namespace) -> int:
    # Imported when it runs: `firmset --help` need not wait for the statistics.
    command: Command = import_module("dashboard.terminal.drilling").drilling
    return command(args)
