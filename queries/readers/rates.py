"""Rates by any of a rate's keys."""

from collections.abc import Sequence

import duckdb
import polars as pl

from queries.counting import counts_sql
from queries.errors import FirmsetError
from queries.frames import read_frame
from queries.judgement import CHECK_NAMES, RATE_NAMES
from queries.selection import Selection

RATE_KEYS = (
    "site",
    "crew",
    "anchor_size",
    "week",
    "month",
    "drill_method",
    "orientation",
    "inspector",
)
RATE_COLUMNS = (
    "check",
    "installations",
    "judged",
    "nonconforming",
    "unrecorded",
    "unreadable",
    "inapplicable",
    "rate",
    "low",
    "high",
    "rate_if_unrecorded_conform",
    "rate_if_unrecorded_not",
)


def read_rates(
    con: duckdb.DuckDBPyConnection, by: Sequence[str], selection: Selection
) -> pl.DataFrame:
    """Return rates with their counts: one row per combination of `by` and check.

    `by` names keys of RATE_KEYS (none: one row a check); the frame has them under
    these names, then RATE_COLUMNS: counts, and rates as fractions, null where
    nothing was judged. Sorted by the keys, sizes by diameter, checks in their order.
    No check in the selection means all; "any_check", which counts anchors and not the
    verdicts of a check, is given only where it is named. `rate_of_count.sql`
    defines every figure. Raises FirmsetError for an unknown key or check.
    """
    check_rate_keys(by)
    check_names = list(selection.check_names or CHECK_NAMES)
    require_known("check", check_names, RATE_NAMES)
    order = [*by, f'list_position({list(RATE_NAMES)}, "check")']
    sizes = ""
    if "anchor_size" in by:
        order[list(by).index("anchor_size")] = "diameter_mm, anchor_size"
        sizes = "left join anchor_size as size using (anchor_size)"
    columns = ", ".join([*by, *(f'"{name}"' for name in RATE_COLUMNS)])
    return read_frame(
        con,
        f"""
        with counted as ({counts_sql(by, check_names, selection)})
        select {columns}
        from rate_of_count('counted', $by) {sizes}
        order by {", ".join(order)}
        """,
        {"by": list(by), **selection.parameters()},
    )


def check_rate_keys(by: Sequence[str]) -> None:
    """Raise FirmsetError where a key is unknown, named twice, or two periods meet."""
    require_known("key", by, RATE_KEYS)
    if len(set(by)) < len(by):
        raise FirmsetError(f"--by {','.join(by)}: a key is named twice")
    if {"week", "month"} <= set(by):
        raise FirmsetError("--by: expected week or month, not both")


def require_known(what: str, given: Sequence[str], known: Sequence[str]) -> None:
    """Raise FirmsetError naming the first value that is not among the known ones."""
    for value in given:
        if value not in known:
            raise FirmsetError(f"unknown {what} {value!r}: expected {', '.join(known)}")
