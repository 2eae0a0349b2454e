"""The command line: `firmset COMMAND`."""

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

from dashboard.terminal.options import (
    add_filter_options,
    add_format_option,
    add_server_options,
    add_store_option,
    comma_list,
)
from dashboard.terminal.weighing_options import (
    a_count,
    add_baseline,
    add_calibrate,
    add_compare,
    add_retrain,
    add_training,
    add_trend,
)
from queries.errors import FirmsetError
from queries.readers.rates import RATE_KEYS

EXIT_USAGE = 2

Command = Callable[[argparse.Namespace], int]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code; errors are one line on stderr."""
    args = _parser().parse_args(arguments)
    try:
        command: Command = args.command
        return command(args)
    except FirmsetError as error:
        print(f"firmset: {error}", file=sys.stderr)
        return EXIT_USAGE
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # The reader of a pipe (head, less) had enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="firmset",
        description="Non-conformance of anchor installation on many sites, from the "
        "sites' own logs.",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for add in (
        _add_demo,
        _add_load,
        _add_serve,
        _add_rates,
        add_trend,
        add_compare,
        add_calibrate,
        add_retrain,
        add_training,
        add_baseline,
        _add_receipts,
        _add_rejects,
        _add_record,
    ):
        add(commands)
    return parser


_Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def _add_demo(commands: _Commands) -> None:
    parser = commands.add_parser(
        "demo", help="build a store from invented logs and serve it"
    )
    parser.add_argument(
        "--store",
        type=Path,
        default=Path("firmset-demo"),
        help="the demo store's folder (default: ./firmset-demo)",
    )
    parser.add_argument(
        "--installations",
        type=a_count,
        default=250_000,
        metavar="N",
        help="how many to invent (default: 250000)",
    )
    parser.add_argument(
        "--seed", type=int, metavar="N", help="another seed, other inventions"
    )
    parser.add_argument("--no-serve", action="store_true", help="only build the store")
    add_server_options(parser)
    parser.set_defaults(command=_demo)


def _add_load(commands: _Commands) -> None:
    parser = commands.add_parser(
        "load", help="load site logs and setting data, and publish an edition"
    )
    parser.add_argument("paths", nargs="+", type=Path, metavar="PATH")
    parser.add_argument(
        "--maps",
        type=Path,
        metavar="FOLDER",
        help="where the site maps are (default: beside the logs)",
    )
    parser.add_argument(
        "--strict", action="store_true", help="exit 3 if any row is rejected"
    )
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=_load)


def _add_serve(commands: _Commands) -> None:
    parser = commands.add_parser("serve", help="serve a store's pages")
    add_store_option(parser)
    add_server_options(parser)
    parser.set_defaults(command=_serve)


def _add_rates(commands: _Commands) -> None:
    parser = commands.add_parser(
        "rates", help="non-conformance rates with their counts"
    )
    parser.add_argument(
        "--by",
        type=comma_list,
        default=(),
        metavar="KEYS",
        help=f"keys, comma between them: {', '.join(RATE_KEYS)}",
    )
    add_filter_options(parser)
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=_figure("rates"))


def _add_receipts(commands: _Commands) -> None:
    parser = commands.add_parser("receipts", help="what became of each loaded file")
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=_figure("receipts"))


def _add_rejects(commands: _Commands) -> None:
    parser = commands.add_parser("rejects", help="the rows that could not be taken")
    parser.add_argument(
        "--receipt", type=int, metavar="N", help="of one receipt (default: of all)"
    )
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=_figure("rejects"))


def _add_record(commands: _Commands) -> None:
    parser = commands.add_parser("record", help="one installation, down to its row")
    parser.add_argument("site_code", metavar="SITE")
    parser.add_argument("record_id", metavar="RECORD_ID")
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=_figure("record"))


# A command imports what it needs when it runs: `firmset rates` should not wait for the
# dashboard's libraries, nor `firmset --help` for any.


def _demo(args: argparse.Namespace) -> int:
    from dashboard.terminal.serving import demo

    return demo(args)


def _serve(args: argparse.Namespace) -> int:
    from dashboard.terminal.serving import serve

    return serve(args)


def _load(args: argparse.Namespace) -> int:
    from dashboard.terminal.intake import load

    return load(args)


def _figure(name: str) -> Command:
    def run(args: argparse.Namespace) -> int:
        from dashboard.terminal import figures

        command: Command = getattr(figures, name)
        return command(args)

    return run


if __name__ == "__main__":
    sys.exit(main())
