"""The options of the commands that weigh counts."""

import argparse
from collections.abc import Callable
from importlib import import_module
from typing import TypeAlias

from dashboard.budget import DEFAULT_BUDGET
from dashboard.terminal.options import (
    a_date,
    add_by_option,
    add_filter_options,
    add_reading_options,
    add_site_options,
    add_size_option,
    add_store_option,
    add_wait_option,
    positive,
    seed,
    whole,
)

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
Command = Callable[[argparse.Namespace], int]

# Ten years before a training and ten after; so many deals take some minutes.
MOST_WEEKS = 520
MOST_SHUFFLES = 100_000


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
    add_by_option(parser, "what is compared")
    parser.add_argument(
        "--same-inspector",
        action="store_true",
        help="compare only anchors that the same inspector judged",
    )
    _finish(parser, "compare")


def add_revisions(commands: Commands) -> None:
    """Add `firmset revisions`."""
    parser = commands.add_parser(
        "revisions",
        help="a check's rates as first logged, beside those in force after revisions",
    )
    add_by_option(parser, "whose rates")
    parser.add_argument(
        "--records",
        action="store_true",
        help="the revised records instead, a line each",
    )
    _finish(parser, "revisions", "revising")


def add_unlogged(commands: Commands) -> None:
    """Add `firmset unlogged`."""
    parser = commands.add_parser(
        "unlogged", help="planned holes of which no log shows an anchor"
    )
    parser.add_argument(
        "--settings",
        action="store_true",
        help="a line a site and setting data (default: a line a site)",
    )
    add_size_option(parser)
    add_site_options(parser)
    add_reading_options(parser)
    # Who sets a planned hole may change, and a hole is planned for all its checks.
    parser.set_defaults(command=_command("unlogged", "unlogged"), crew=(), check=())


def add_calibrate(commands: Commands) -> None:
    """Add `firmset calibrate`."""
    parser = commands.add_parser(
        "calibrate", help="how often the flags of compare are false on these days"
    )
    parser.add_argument("--by", choices=("site", "crew"), default="crew")
    parser.add_argument(
        "--shuffles",
        type=whole(1, MOST_SHUFFLES),
        default=1000,
        metavar="N",
        help="how often the days are dealt out again (default: 1000)",
    )
    parser.add_argument(
        "--seed",
        type=seed,
        default=1,
        metavar="N",
        help="another seed, other deals (default: 1)",
    )
    _finish(parser, "calibrate")


def add_retrain(commands: Commands) -> None:
    """Add `firmset retrain`."""
    parser = commands.add_parser(
        "retrain", help="which crew to retrain on which check, first"
    )
    parser.add_argument(
        "--budget",
        type=positive,
        default=DEFAULT_BUDGET,
        metavar="N",
        help=f"how many you can act on (default: {DEFAULT_BUDGET}, as on the page)",
    )
    _finish(parser, "retrain")


def add_training(commands: Commands) -> None:
    """Add `firmset training`."""
    parser = commands.add_parser(
        "training",
        help="what the registered trainings changed, or one that is not registered",
    )
    asked = parser.add_mutually_exclusive_group()
    asked.add_argument(
        "--on",
        type=a_date,
        metavar="DATE",
        help="day of a training of one crew (--crew) on one check (--check) that is "
        "not registered",
    )
    asked.add_argument(
        "--placebo",
        action="store_true",
        help="how often an effect is claimed on your own days without any training",
    )
    asked.add_argument(
        "--next",
        dest="next_count",
        type=positive,
        metavar="N",
        help="the first N of the retraining list in two waves, so that the second "
        "shows what the first did",
    )
    parser.add_argument(
        "--weeks",
        type=whole(1, MOST_WEEKS),
        default=12,
        metavar="N",
        help="weeks compared before and after (default: 12)",
    )
    _finish(parser, "training", module="trainings")


def add_baseline(commands: Commands) -> None:
    """Add `firmset baseline set` and `firmset baseline list`."""
    parser = commands.add_parser(
        "baseline", help="decide from which dates a trend's limits come, or list it"
    )
    actions = parser.add_subparsers(required=True, metavar="ACTION")
    given = actions.add_parser(
        "set", help="record a baseline (--from, --to) of a check and selection"
    )
    given.add_argument("--by", choices=("week", "month"), default="week")
    given.add_argument("--author", required=True, metavar="NAME", help="who decides")
    given.add_argument("--reason", required=True, metavar="TEXT", help="and why")
    add_filter_options(given)
    add_wait_option(given)
    add_store_option(given)
    given.set_defaults(command=_command("baseline", "set_baseline"))
    listed = actions.add_parser("list", help="every baseline ever set, newest first")
    add_reading_options(listed)
    listed.set_defaults(command=_command("baseline", "list_baselines"))


def _finish(
    parser: argparse.ArgumentParser, name: str, module: str = "weighing"
) -> None:
    add_filter_options(parser)
    add_reading_options(parser)
    parser.set_defaults(command=_command(module, name))


def _command(module: str, name: str) -> Command:
    """Return a command that imports what it needs only when it runs."""

    def run(args: argparse.Namespace) -> int:
        command: Command = getattr(import_module(f"dashboard.terminal.{module}"), name)
        return command(args)

    return run
