"""The commands that change a store: load, unload, migrate and judge."""

import argparse
from datetime import UTC, datetime
from pathlib import Path
from shlex import quote

from dashboard.terminal.output import complain, print_frame, print_rows
from dashboard.terminal.progress import shown_progress
from dashboard.terminal.receipts import (
    REASONS_SHOWN,
    RECEIPT_COLUMNS,
    receipt_row,
    rejected_words,
    summary,
)
from dashboard.terminal.watching import watch
from etl.intake import IntakeResult, load_paths
from etl.judge import judge_store
from etl.migrate import migrate as migrate_store
from etl.rehearse import rehearse
from etl.unload import unload as unload_receipt
from queries.errors import FirmsetError
from queries.store import Store

EXIT_FILE_FAILED = 1
EXIT_ROWS_REJECTED = 3


def load(args: argparse.Namespace) -> int:
    """Load files and folders, publish, and print the receipts."""
    if args.watch and args.dry_run:
        raise FirmsetError("--watch --dry-run: expected one of them")
    if args.watch:
        return watch(args)
    if args.dry_run:
        return _rehearse(args)
    with shown_progress() as progress:
        result = load_paths(
            Store(args.store),
            args.paths,
            map_folder=args.maps,
            progress=progress,
            wait_s=args.wait,
            keep_editions=args.keep_editions,
        )
    code = print_result(result, args.form, is_strict=args.strict)
    if args.form == "table":
        tell_of_rejects(result, args.store)
    return code


def _rehearse(args: argparse.Namespace) -> int:
    """Print the receipts that a load would give, and a rejected row of each reason."""
    rehearsal = rehearse(Store(args.store), args.paths, map_folder=args.maps)
    code = print_result(
        rehearsal.result, args.form, is_strict=args.strict, is_rehearsal=True
    )
    reasons = rehearsal.by_reason()
    if args.form == "table" and not reasons.is_empty():
        print("\n" + rejected_words(rehearsal.rejects.height, reasons.height) + ":")
        print_frame(reasons.head(REASONS_SHOWN), "table")
    return code


def unload(args: argparse.Namespace) -> int:
    """Take back the loads of receipts, and publish."""
    done = unload_receipt(
        Store(args.store), *args.receipt, all_parts=args.all_parts, wait_s=args.wait
    )
    print(done)
    return 0


def migrate(args: argparse.Namespace) -> int:
    """Bring a store to today's schema, and publish."""
    print(migrate_store(Store(args.store), wait_s=args.wait))
    return 0


def tell_of_rejects(result: IntakeResult, folder: Path) -> None:
    """Print the command that lists rejected rows, where there is any to correct."""
    if any(receipt.rejected > receipt.settled for receipt in result.receipts):
        command = f"firmset rejects --store {quote(str(folder))}"
        print(f"{command} lists the rejected rows, each with its reason")


def print_result(
    result: IntakeResult, form: str, *, is_strict: bool, is_rehearsal: bool = False
) -> int:
    """Print receipts and failures; return the exit code."""
    if result.receipts or form != "table":
        print_rows(
            RECEIPT_COLUMNS, [receipt_row(receipt) for receipt in result.receipts], form
        )
    for failure in result.failures:
        complain(failure)
    if result.fault is not None:
        complain(result.fault)
    if form == "table":
        print(summary(result, is_rehearsal=is_rehearsal))
    if result.failures or result.fault is not None:
        return EXIT_FILE_FAILED
    if is_strict and any(receipt.rejected for receipt in result.receipts):
        return EXIT_ROWS_REJECTED
    return 0


def judge(args: argparse.Namespace) -> int:
    """Judge every installation again and say what was published."""
    judged, edition_id = judge_store(
        Store(args.store), datetime.now(UTC), args.torque_guard, wait_s=args.wait
    )
    print(f"{judged:,} installations judged; edition {edition_id} published")
    return 0
