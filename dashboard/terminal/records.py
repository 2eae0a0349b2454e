"""`firmset records`: the list of the page Records, by the same reader."""

import argparse
import sys
from collections.abc import Iterator

import duckdb
import polars as pl

from dashboard import words
from dashboard.records_words import found_words
from dashboard.spreadsheet import csv_pieces
from dashboard.terminal.options import selection_of
from dashboard.terminal.output import print_frame, say
from dashboard.terminal.record_options import ANY
from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.readers.record_page import ORDERS, read_record_page, read_record_pieces
from queries.readers.record_search import DayCounts, RecordSearch, read_day_counts
from queries.readers.records import RATIO_CAUTION
from queries.store import Store

# What a line of a terminal has room for.
TABLE_COLUMNS = (
    "record_id",
    "site_code",
    "installed_on",
    "crew_code",
    "anchor_size",
    "outcome",
    "nonconforming_checks",
    "cone_ratio",
    "file_name",
    "source_row",
)
CHECK_COLUMNS = ("verdict", "margin", "margin_unit", "direction")


def records(args: argparse.Namespace) -> int:
    """Print the records of a search; csv and json with every logged column."""
    verdict = args.verdict or (ANY if args.record else "nonconforming")
    with Store(args.store).reader(args.edition) as con:
        search = RecordSearch(
            selection=selection_of(args, read_choices(con)),
            verdict=None if verdict == ANY else verdict,
            outcome=args.outcome,
            record_id=args.record,
            begins=args.begins,
            wrench_code=args.wrench,
        )
        days = read_day_counts(con, search)
        frames = _frames(con, search, days, args)
        if args.form == "csv":
            for piece in csv_pieces(frames):
                sys.stdout.write(piece)
        else:
            _print(pl.concat(frames), search, args.form)
    _print_count(search, days.total, args)
    return 0


def _frames(
    con: duckdb.DuckDBPyConnection,
    search: RecordSearch,
    days: DayCounts,
    args: argparse.Namespace,
) -> Iterator[pl.DataFrame]:
    if args.limit:
        found = read_record_page(
            con, search, days, order=args.order, limit=args.limit, whole=True
        )
        return iter([found.rows])
    if args.order != ORDERS[0]:
        raise FirmsetError(
            f"--order {args.order} --limit 0: all records come newest first; expected "
            "a limit with another order"
        )
    return read_record_pieces(con, search, days)


def _print(rows: pl.DataFrame, search: RecordSearch, form: str) -> None:
    if form == "json":
        print_frame(rows, form)
        return
    checked = CHECK_COLUMNS if search.one_check else ()
    at = TABLE_COLUMNS.index("nonconforming_checks")
    print_frame(rows.select(*TABLE_COLUMNS[:at], *checked, *TABLE_COLUMNS[at:]), form)


def _print_count(search: RecordSearch, total: int, args: argparse.Namespace) -> None:
    """Say how many there are, and on stderr where a file has only some."""
    if args.form == "table":
        say("\n" + found_words(search, total, args.order).partition(" The list")[0])
        if total:
            say(RATIO_CAUTION)
    if args.limit and total > args.limit:
        print(
            f"firmset: {args.limit} of {words.count(total)} shown; --limit 0 for all",
            file=sys.stderr,
        )
