"""The options of the commands that begin a site map or a sheet of master data."""

import argparse
from pathlib import Path
from typing import TypeAlias

from dashboard.terminal.options import add_store_option

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def add_sheet(commands: Commands) -> None:
    """Add `firmset sheet`."""
    parser = commands.add_parser(
        "sheet", help="an empty log or sheet of master data, to be filled in"
    )
    parser.add_argument(
        "name",
        nargs="?",
        metavar="NAME",
        help="its name (default: list what there is)",
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FILE",
        help="a new file for it, .csv, or .xlsx with a page on its columns (default: "
        "printed as CSV)",
    )
    parser.set_defaults(command=_sheet)


def add_map(commands: Commands) -> None:
    """Add `firmset map`."""
    parser = commands.add_parser(
        "map", help="draft a site map from a log's headers and values"
    )
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--site", metavar="CODE", help="the site's code")
    parser.add_argument(
        "--sheet", metavar="NAME", help="a workbook's sheet (default: the best one)"
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="MAP.toml",
        help="a new file for the draft (default: printed)",
    )
    parser.add_argument(
        "--format",
        dest="form",
        choices=("table", "json"),
        default="table",
        help="json: the findings and the draft as one object (default: table)",
    )
    add_store_option(parser)
    parser.set_defaults(command=_map)


def _sheet(args: argparse.Namespace) -> int:
    from dashboard.terminal.empty_sheet import sheet

    return sheet(args)


def _map(args: argparse.Namespace) -> int:
    from dashboard.terminal.drafting import draft

    return draft(args)
