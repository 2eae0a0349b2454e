"""The options of `firmset changes`."""

import argparse
from typing import TypeAlias

from dashboard.terminal.options import (
    add_by_option,
    add_filter_options,
    add_reading_options,
)

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def add_changes(commands: Commands) -> None:
    """Add `firmset changes`."""
    parser = commands.add_parser(
        "changes",
        help="the last whole month beside the one before, by site or crew and check",
    )
    add_by_option(parser, "what is looked at")
    add_filter_options(parser)
    add_reading_options(parser)
    parser.set_defaults(command=_changes)


def _changes(args: argparse.Namespace) -> int:
    from dashboard.terminal.changing import changes

    return changes(args)
