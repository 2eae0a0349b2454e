"""The commands that change a store: load and unload."""

import argparse
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from dashboard.terminal.output import print_frame, print_rows
from etl.intake import IntakeResult, load_paths, rehearse
from etl.intake import unload as unload_receipt
from etl.receipt import Receipt
from queries.store import Store

RECEIPT_COLUMNS = (
    "receipt",
    "file",
    "content",
    "site",
    "rows_read",
    "loaded",
    "revised",
    "duplicate",
    "rejected",
    "field_faults",
    "remarks",
)

REJECTS_SHOWN = 10
EXIT_FILE_FAILED = 1
EXIT_ROWS_REJECTED = 3


def load(args: argparse.Namespace) -> int:
    """Load files and folders, publish, and print the receipts."""
    if args.dry_run:
        return _rehearse(args)
    with Progress() as progress:
        result = load_paths(
            Store(args.store),
            args.paths,
            map_folder=args.maps,
            on_file=progress.show,
        )
    return print_result(result, args.form, is_strict=args.strict)


def _rehearse(args: argparse.Namespace) -> int:
    """Print the receipts that a load would give, and the first rejected rows."""
    rehearsal = rehearse(Store(args.store), args.paths, map_folder=args.maps)
    code = print_result(
        rehearsal.result, args.form, is_strict=args.strict, is_rehearsal=True
    )
    shown = rehearsal.rejects.head(REJECTS_SHOWN)
    if args.form == "table" and not shown.is_empty():
        print(
            f"\nThe first {shown.height} of {rehearsal.rejects.height} rejected rows:"
        )
        print_frame(
            shown.select("file_name", "source_row", "reason", "raw_text"), "table"
        )
    return code


def unload(args: argparse.Namespace) -> int:
    """Take back the load of one receipt, and publish."""
    print(unload_receipt(Store(args.store), args.receipt))
    return 0


class Progress:
    """Names the file being loaded, on a terminal; says nothing elsewhere."""

    def __init__(self) -> None:
        self._is_shown = sys.stderr.isatty()
        self._number = 0

    def __enter__(self) -> "Progress":
        return self

    def show(self, path: Path) -> None:
        """Show the file that is loaded now."""
        self._number += 1
        self._write(f"file {self._number}: {path.name}")

    def __exit__(self, *error: object) -> None:
        self._write("")

    def _write(self, text: str) -> None:
        if self._is_shown:
            sys.stderr.write(f"\r\x1b[2K{text}")
            sys.stderr.flush()


def print_result(
    result: IntakeResult, form: str, *, is_strict: bool, is_rehearsal: bool = False
) -> int:
    """Print receipts and failures; return the exit code."""
    print_rows(RECEIPT_COLUMNS, [_row(receipt) for receipt in result.receipts], form)
    for failure in result.failures:
        print(f"firmset: {failure}", file=sys.stderr)
    if form == "table":
        print(summary(result, is_rehearsal=is_rehearsal))
    if result.failures:
        return EXIT_FILE_FAILED
    if is_strict and any(receipt.rejected for receipt in result.receipts):
        return EXIT_ROWS_REJECTED
    return 0


def _row(receipt: Receipt) -> dict[str, object]:
    values = asdict(receipt)
    remarks = list(receipt.remarks)
    if not receipt.is_new:
        remarks.append(
            f"nothing new: loaded before, see receipt {receipt.source_file_id}"
        )
    names = {"receipt": "source_file_id", "file": "file_name", "site": "site_code"}
    row = {name: values[names.get(name, name)] for name in RECEIPT_COLUMNS}
    return row | {"remarks": remarks}


def summary(result: IntakeResult, *, is_rehearsal: bool = False) -> str:
    """Return the line that adds the receipts up."""
    counts: dict[str, Callable[[Receipt], int]] = {
        "read": lambda receipt: receipt.rows_read,
        "loaded": lambda receipt: receipt.loaded,
        "revised": lambda receipt: receipt.revised,
        "duplicate": lambda receipt: receipt.duplicate,
        "rejected": lambda receipt: receipt.rejected,
    }
    totals = {name: sum(map(take, result.receipts)) for name, take in counts.items()}
    edition = "nothing new to publish"
    if is_rehearsal:
        edition = "dry run, nothing was written"
    elif result.edition_id is not None:
        edition = f"edition {result.edition_id} published"
    failed = f", {len(result.failures)} failed" if result.failures else ""
    return (
        f"{len(result.receipts)} files{failed}: {totals['read']:,} rows read = "
        f"{totals['loaded']:,} loaded + {totals['revised']:,} revised + "
        f"{totals['duplicate']:,} duplicate + {totals['rejected']:,} rejected; "
        f"{edition}"
    )
