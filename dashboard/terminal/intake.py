"""The command that starts a load."""

import argparse
import sys
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

from dashboard.terminal.output import print_rows
from etl.intake import IntakeResult, load_paths
from etl.judge import judge_store
from etl.load import Receipt
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

EXIT_FILE_FAILED = 1
EXIT_ROWS_REJECTED = 3


def load(args: argparse.Namespace) -> int:
    """Load files and folders, publish, and print the receipts."""
    with Progress() as progress:
        result = load_paths(
            Store(args.store),
            args.paths,
            map_folder=args.maps,
            on_file=progress.show,
        )
    return print_result(result, args.form, is_strict=args.strict)


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


def print_result(result: IntakeResult, form: str, *, is_strict: bool) -> int:
    """Print receipts and failures; return the exit code."""
    print_rows(RECEIPT_COLUMNS, [_row(receipt) for receipt in result.receipts], form)
    for failure in result.failures:
        print(f"firmset: {failure}", file=sys.stderr)
    if form == "table":
        print(summary(result))
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


def summary(result: IntakeResult) -> str:
    """Return the line that adds the receipts up."""
    counts: dict[str, Callable[[Receipt], int]] = {
        "read": lambda receipt: receipt.rows_read,
        "loaded": lambda receipt: receipt.loaded,
        "revised": lambda receipt: receipt.revised,
        "duplicate": lambda receipt: receipt.duplicate,
        "rejected": lambda receipt: receipt.rejected,
    }
    totals = {name: sum(map(take, result.receipts)) for name, take in counts.items()}
    edition = (
        f"edition {result.edition_id} published"
        if result.edition_id is not None
        else "nothing new to publish"
    )
    failed = f", {len(result.failures)} failed" if result.failures else ""
    return (
        f"{len(result.receipts)} files{failed}: {totals['read']:,} rows read = "
        f"{totals['loaded']:,} loaded + {totals['revised']:,} revised + "
        f"{totals['duplicate']:,} duplicate + {totals['rejected']:,} rejected; "
        f"{edition}"
    )


def judge(args: argparse.Namespace) -> int:
    """Judge every installation again and say what was published."""
    judged, edition_id = judge_store(
        Store(args.store), datetime.now(UTC), args.torque_guard
    )
    print(f"{judged:,} installations judged; edition {edition_id} published")
    return 0
