"""What a load did, in words."""

from collections.abc import Sequence
from dataclasses import asdict

from dashboard import words
from etl.intake import IntakeResult
from etl.receipt import Receipt

# Every row of a file comes to one of these ends.
FATES = ("loaded", "revised", "duplicate", "rejected")

# Of a load that is only tried, a rejected row each.
REASONS_SHOWN = 10

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


def receipt_row(receipt: Receipt) -> dict[str, object]:
    """Return a receipt by the columns above."""
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
    edition = "dry run, nothing was written" if is_rehearsal else edition_words(result)
    failed = f" taken, {len(result.failures)} failed" if result.failures else ""
    return (
        f"{words.plural(len(result.receipts), 'file')}{failed}: "
        f"{_accounted(result.receipts)}; {edition}"
    )


def edition_words(result: IntakeResult) -> str:
    """Say what became of the edition."""
    if result.edition_id is not None:
        return f"edition {result.edition_id} published"
    return "not published" if result.fault is not None else "nothing new to publish"


def receipt_words(receipt: Receipt) -> str:
    """Return the line of one file."""
    counts = f"{receipt.file_name}: {_accounted([receipt])}"
    remarks = receipt_row(receipt)["remarks"]
    return "; ".join([counts, *remarks]) if isinstance(remarks, list) else counts


def _accounted(receipts: Sequence[Receipt]) -> str:
    """Return what became of the rows of some files."""
    fates = {
        fate: sum(getattr(receipt, fate) for receipt in receipts) for fate in FATES
    }
    rows_read = sum(receipt.rows_read for receipt in receipts)
    parts = " + ".join(f"{count:,} {fate}" for fate, count in fates.items())
    return f"{rows_read:,} {'row' if rows_read == 1 else 'rows'} read = {parts}"


def rejected_words(rows: int, reasons: int) -> str:
    """Say what a list of one rejected row a reason shows, the commonest reasons first.

    `rows` and `reasons`: how many there are; REASONS_SHOWN of the reasons are listed.
    """
    said = words.plural(rows, "rejected row")
    if reasons == rows <= REASONS_SHOWN:
        return said
    if reasons <= REASONS_SHOWN:
        return f"{said}, the first of each reason"
    return (
        f"{said}, the first of each of the {REASONS_SHOWN} commonest reasons of "
        f"{words.count(reasons)}"
    )
