"""The options of the command that writes sheets for paper."""

import argparse
from pathlib import Path
from typing import TypeAlias

from dashboard.terminal.options import (
    add_place_options,
    add_size_option,
    add_store_option,
)

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def add_report(commands: Commands) -> None:
    """Add `firmset report`."""
    parser = commands.add_parser(
        "report",
        help="a site (--site) or a crew (--crew) on one page, as PDF; with both, the "
        "crew's work on the site",
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FILE.pdf",
        help="the file (default: firmset-site-CODE-edition-N.pdf here); one that is "
        "there is replaced only if it is a PDF",
    )
    add_size_option(parser)
    add_place_options(parser)
    add_store_option(parser)
    # A sheet has every check.
    parser.set_defaults(command=_report, check=())


def _report(args: argparse.Namespace) -> int:
    from dashboard.terminal.report import report

    return report(args)
