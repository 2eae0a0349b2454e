"""Options the commands share."""

import argparse
import os
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from dashboard.terminal.output import FORMATS
from dashboard.wish import INCH, METRIC
from queries.errors import FirmsetError
from queries.judgement import ANY_CHECK, CHECK_NAMES
from queries.readers.choices import Choices
from queries.readers.rates import require_known
from queries.selection import Selection

DEFAULT_STORE = "firmset-store"
# No number that is asked for is larger.
MOST = 1_000_000_000
YEARS = range(1900, 2200)
SHORTEST_PAUSE_S = 0.1
LAST_PORT = 65_535


def add_store_option(parser: argparse.ArgumentParser) -> None:
    """Add --store."""
    parser.add_argument(
        "--store",
        type=Path,
        default=Path(os.environ.get("FIRMSET_STORE", DEFAULT_STORE)),
        help="the store's folder (default: $FIRMSET_STORE, else ./firmset-store)",
    )


def add_format_option(parser: argparse.ArgumentParser) -> None:
    """Add --format."""
    parser.add_argument(
        "--format",
        dest="form",
        choices=FORMATS,
        default="table",
        help="table for people, csv or json for programs (default: table)",
    )


def add_reading_options(parser: argparse.ArgumentParser) -> None:
    """Add --store, --edition and --format: the options of all that only reads."""
    add_store_option(parser)
    parser.add_argument(
        "--edition",
        type=positive,
        metavar="N",
        help="answer from this published edition (default: the newest)",
    )
    add_format_option(parser)


def add_by_option(parser: argparse.ArgumentParser, what: str) -> None:
    """Add --by, site or crew; `what` says what it chooses."""
    parser.add_argument(
        "--by",
        choices=("site", "crew"),
        default="site",
        help=f"{what} (default: site)",
    )


def add_units_option(parser: argparse.ArgumentParser) -> None:
    """Add --units."""
    parser.add_argument(
        "--units",
        choices=(METRIC, INCH),
        default=METRIC,
        help="of the table for people: mm and Nm, or in and ft·lbf; csv and json stay "
        f"in mm and Nm (default: {METRIC})",
    )


def add_wait_option(parser: argparse.ArgumentParser) -> None:
    """Add --wait."""
    parser.add_argument(
        "--wait",
        type=seconds,
        default=60,
        metavar="SECONDS",
        help="how long to wait for another load to end; 0: not at all (default: 60)",
    )


def add_server_options(parser: argparse.ArgumentParser) -> None:
    """Add --host, --port, and who may send files to the pages."""
    parser.add_argument("--host", default="127.0.0.1", help="default: 127.0.0.1")
    parser.add_argument("--port", type=port, default=8050, help="default: 8050")
    sending = parser.add_mutually_exclusive_group()
    sending.add_argument(
        "--read-only", action="store_true", help="take no files on the page Intake"
    )
    sending.add_argument(
        "--allow-uploads",
        nargs="*",
        metavar="NAME",
        help="let anybody who reaches the pages load files, also with a --host that "
        "others reach (default: only at this computer); NAMEs by which they are "
        "reached, beside the address: no other is answered at this computer",
    )


def add_filter_options(parser: argparse.ArgumentParser) -> None:
    """Add the filters: the same as the pages' filter bar."""
    parser.add_argument(
        "--check",
        **A_LIST,
        metavar="NAME",
        help=f"checks, comma between them (default: all): {', '.join(CHECK_NAMES)}; "
        f"{ANY_CHECK} counts anchors nonconforming in one check or more, each once",
    )
    add_size_option(parser)
    add_place_options(parser)


def add_size_option(parser: argparse.ArgumentParser) -> None:
    """Add --size."""
    parser.add_argument(
        "--size", **A_LIST, metavar="SIZE", help="anchor sizes, comma between them"
    )


def add_place_options(parser: argparse.ArgumentParser) -> None:
    """Add --crew, --site, --from and --to."""
    parser.add_argument(
        "--crew", **CODES, metavar="CODE", help="crew codes, comma between them"
    )
    add_site_options(parser)


def add_site_options(parser: argparse.ArgumentParser) -> None:
    """Add --site, --from and --to."""
    parser.add_argument(
        "--site", **CODES, metavar="CODE", help="site codes, comma between them"
    )
    parser.add_argument(
        "--from", dest="from_on", type=a_date, metavar="DATE", help="first day, ISO"
    )
    parser.add_argument(
        "--to", dest="to_on", type=a_date, metavar="DATE", help="last day, ISO"
    )


def comma_list(text: str) -> tuple[str, ...]:
    """Return the items of a list with commas between them."""
    return tuple(item.strip() for item in text.split(",") if item.strip())


def code_list(text: str) -> tuple[str, ...]:
    """Return the codes of such a list, in capitals, as codes are stored."""
    return tuple(item.upper() for item in comma_list(text))


class Also(argparse.Action):
    """An option given again adds to what it was given before."""

    def __call__(
        self,
        _parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        _option: str | None = None,
    ) -> None:
        setattr(namespace, self.dest, (*getattr(namespace, self.dest), *(values or ())))


A_LIST: Any = {"type": comma_list, "default": (), "action": Also}


def fraction(text: str) -> float:
    """Return a number from 0 to below 1."""
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 <= number < 1:
        raise argparse.ArgumentTypeError(f"{text}: expected a fraction such as 0.04")
    return number


def whole(least: int, most: int) -> Callable[[str], int]:
    """Return the reader of a whole number between two, both included."""
    reach = f"from {least} on" if most == MOST else f"from {least} to {most}"

    def read(text: str) -> int:
        number = _whole(text)
        if number is None or not least <= number <= most:
            raise argparse.ArgumentTypeError(f"{text}: expected a number {reach}")
        return number

    return read


positive = whole(1, MOST)
port = whole(1, LAST_PORT)
seed = whole(0, MOST)


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() else None


def seconds(text: str) -> float:
    """Return seconds, 0 or more and not endless."""
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 <= number <= MOST:
        raise argparse.ArgumentTypeError(f"{text}: expected seconds from 0 to {MOST}")
    return number


def pause(text: str) -> float:
    """Return the seconds between two looks, not none."""
    number = seconds(text)
    if number < SHORTEST_PAUSE_S:
        raise argparse.ArgumentTypeError(
            f"{text}: expected seconds, {SHORTEST_PAUSE_S} or more"
        )
    return number


def a_date(text: str) -> date:
    """Return an ISO date."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = date.min
    # So that weeks before and after it are dates, too.
    if day.year not in YEARS:
        raise argparse.ArgumentTypeError(f"{text!r}: expected a date as 2026-01-31")
    return day


def one_check(names: Sequence[str], known: Sequence[str] = CHECK_NAMES) -> str:
    """Return the one check of `known` asked for, RATE_NAMES where any will do.

    Raises FirmsetError for none or several, and for another.
    """
    require_known("check", names, known)
    if len(names) != 1:
        given = f"--check {','.join(names)}".rstrip()
        raise FirmsetError(f"{given}: expected one check of {', '.join(known)}")
    return names[0]


def selection_of(args: argparse.Namespace, choices: Choices) -> Selection:
    """Return the selection the options ask for.

    Raises FirmsetError for a site, crew or size the store does not hold: an empty
    answer to a mistyped code would read as "no faults".
    """
    sites = [code for code, _ in choices.sites]
    require_known("site", args.site, sites)
    require_known("crew", args.crew, choices.crew_codes)
    require_known("size", args.size, choices.anchor_sizes)
    if args.from_on and args.to_on and args.from_on > args.to_on:
        raise FirmsetError(f"--from {args.from_on} lies after --to {args.to_on}")
    return Selection(
        from_on=args.from_on,
        to_on=args.to_on,
        site_codes=args.site,
        crew_codes=args.crew,
        anchor_sizes=args.size,
        check_names=args.check,
    )


CODES: Any = A_LIST | {"type": code_list}
