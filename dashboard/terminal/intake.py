"""The command that starts a load."""

import argparse
import sys

from dashboard.terminal.output import print_rows
from dashboard.terminal.progress import shown_progress
from dashboard.terminal.receipts import RECEIPT_COLUMNS, receipt_row, summary
from dashboard.terminal.watching import watch
from etl.intake import IntakeResult, load_paths
from queries.store import Store

EXIT_FILE_FAILED = 1
EXIT_ROWS_REJECTED = 3


def load(args: argparse.Namespace) -> int:
    """Load files and folders, publish, and print the receipts."""
    if args.watch:
        return watch(args)
    with shown_progress() as progress:
        result = load_paths(
            Store(args.store),
            args.paths,
            map_folder=args.maps,
            progress=progress,
            wait_s=args.wait,
            keep_editions=args.keep_editions,
        )
    return print_result(result, args.form, is_strict=args.strict)


def print_result(result: IntakeResult, form: str, *, is_strict: bool) -> int:
    """Print receipts and failures; return the exit code."""
    print_rows(
        RECEIPT_COLUMNS, [receipt_row(receipt) for receipt in result.receipts], form
    )
    for failure in result.failures:
        print(f"firmset: {failure}", file=sys.stderr)
    if result.fault is not None:
        print(f"firmset: {result.fault}", file=sys.stderr)
    if form == "table":
        print(summary(result))
    if result.failures or result.fault is not None:
        return EXIT_FILE_FAILED
    if is_strict and any(receipt.rejected for receipt in result.receipts):
        return EXIT_ROWS_REJECTED
    return 0
