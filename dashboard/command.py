"""The command line: `firmset COMMAND`."""

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

from dashboard.terminal.changing_options import add_changes
from dashboard.terminal.doubt_options import (
    add_doubtful_unknown,
    add_doubts,
    add_inspectors,
)
from dashboard.terminal.drafting_options import add_map, add_sheet
from dashboard.terminal.drilling_options import add_drilling
from dashboard.terminal.figure_options import (
    add_ratios,
    add_receipts,
    add_record,
    add_rejects,
    add_verify,
    figure,
)
from dashboard.terminal.options import (
    A_LIST,
    add_filter_options,
    add_format_option,
    add_reading_options,
    add_server_options,
    add_store_option,
    add_wait_option,
    fraction,
    pause,
    positive,
    seconds,
    seed,
)
from dashboard.terminal.parsing import parse
from dashboard.terminal.record_options import add_records
from dashboard.terminal.report_options import add_report
from dashboard.terminal.system import system_words, write_any_text
from dashboard.terminal.weighing_options import (
    add_baseline,
    add_calibrate,
    add_compare,
    add_retrain,
    add_revisions,
    add_training,
    add_trend,
    add_unlogged,
)
from queries.errors import FirmsetError
from queries.readers.rates import RATE_KEYS

EXIT_USAGE = 2

Command = Callable[[argparse.Namespace], int]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return its exit code; errors are one line on stderr."""
    write_any_text()
    try:
        args = parse(_parser(), arguments)
        command: Command = args.command
        return command(args)
    except FirmsetError as error:
        # Not before: what it needs takes longer to import than most commands to fail.
        from dashboard.terminal.output import complain

        complain(str(error))
        return EXIT_USAGE
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # The reader of a pipe (head, less) had enough.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        from dashboard.terminal.output import complain

        complain(system_words(error))
        return EXIT_USAGE


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
        _add_unload,
        _add_migrate,
        add_map,
        add_sheet,
        _add_serve,
        _add_rates,
        add_trend,
        add_compare,
        add_changes,
        add_revisions,
        add_unlogged,
        add_calibrate,
        add_retrain,
        add_training,
        add_baseline,
        add_doubts,
        add_inspectors,
        add_drilling,
        add_receipts,
        add_rejects,
        add_record,
        add_records,
        add_verify,
        add_ratios,
        add_report,
        _add_judge,
    ):
        add(commands)
    for each in commands.choices.values():
        each.set_defaults(parser=each)
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
        type=positive,
        default=250_000,
        metavar="N",
        help="how many to invent (default: 250000)",
    )
    parser.add_argument(
        "--seed", type=seed, metavar="N", help="another seed, other inventions"
    )
    parser.add_argument("--no-serve", action="store_true", help="only build the store")
    add_server_options(parser)
    parser.set_defaults(command=_demo)


def _add_load(commands: _Commands) -> None:
    parser = commands.add_parser(
        "load", help="load site logs and master data, and publish an edition"
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
    parser.add_argument(
        "--dry-run",
        action="store_true",
        help="show the receipts and a rejected row of each reason, and write nothing",
    )
    add_wait_option(parser)
    parser.add_argument(
        "--keep-editions",
        type=positive,
        default=None,
        metavar="N",
        help="how many published editions to keep (default: as many as before, at "
        "least 5)",
    )
    _add_watch_options(parser)
    add_store_option(parser)
    add_format_option(parser)
    parser.set_defaults(command=_load)


def _add_unload(commands: _Commands) -> None:
    parser = commands.add_parser(
        "unload", help="take back the loads of files, and publish an edition"
    )
    parser.add_argument(
        "receipt",
        type=positive,
        nargs="+",
        metavar="RECEIPT",
        help="its number: firmset receipts",
    )
    parser.add_argument(
        "--all-parts",
        action="store_true",
        help="and the other sheets, anchors or sites of the same file, loaded with it",
    )
    add_wait_option(parser)
    add_store_option(parser)
    parser.set_defaults(command=_unload)


def _add_migrate(commands: _Commands) -> None:
    parser = commands.add_parser(
        "migrate", help="bring a store that an older firmset made to today's schema"
    )
    add_wait_option(parser)
    add_store_option(parser)
    parser.set_defaults(command=_migrate)


def _add_watch_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--watch",
        action="store_true",
        help="go on: load the files of the folders PATH as they arrive, until Ctrl+C",
    )
    parser.add_argument(
        "--settle",
        type=seconds,
        default=5,
        metavar="SECONDS",
        help="a watched file is complete when unchanged for so long (default: 5)",
    )
    parser.add_argument(
        "--every",
        type=pause,
        default=2,
        metavar="SECONDS",
        help="how often a watched folder is looked at (default: 2)",
    )


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
        **A_LIST,
        metavar="KEYS",
        help=f"keys, comma between them: {', '.join(RATE_KEYS)}",
    )
    add_doubtful_unknown(parser)
    add_filter_options(parser)
    add_reading_options(parser)
    parser.set_defaults(command=figure("rates"))


def _add_judge(commands: _Commands) -> None:
    parser = commands.add_parser(
        "judge", help="judge every installation again, and publish an edition"
    )
    parser.add_argument(
        "--torque-guard",
        type=fraction,
        metavar="FRACTION",
        help="from now on move both ends of every torque band inward by this fraction "
        "of the setting torque, for the tool's error (0.04 is 4 %%; 0 is off)",
    )
    add_wait_option(parser)
    add_store_option(parser)
    parser.set_defaults(command=_judge)


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


def _unload(args: argparse.Namespace) -> int:
    from dashboard.terminal.intake import unload

    return unload(args)


def _migrate(args: argparse.Namespace) -> int:
    from dashboard.terminal.intake import migrate

    return migrate(args)


def _judge(args: argparse.Namespace) -> int:
    from dashboard.terminal.intake import judge

    return judge(args)


if __name__ == "__main__":
    sys.exit(main())
