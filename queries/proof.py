"""Proofs: queries that return what is wrong with a store; no row is a proof.

One SQL file a proof in `queries/proofs/`, with columns subject, found and expected.
Those that hold whatever else must (`when: publish`) are asked before every edition;
the others read every row and are asked by `firmset verify`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.header import read_header
from queries.judgement import (
    CHECK_NAMES,
    MASKED_VERDICTS,
    MASKS,
    verdict_masks_sql,
)
from queries.tally import (
    KEYS,
    MONTH_KEYS,
    by_month_sql,
    count_columns,
    counted_sql,
)
from queries.wrench_use import BIT as WRENCH_BIT
from queries.wrench_use import (
    IN_PERIOD,
    changed_verdicts_sql,
    overused_periods_sql,
)

FOLDER = Path(__file__).parent / "proofs"
PROOF_NAMES = (
    "receipt_rows",
    "file_of_row",
    "conflict_rejected",
    "tally_total",
    "loaded_or_revised",
    "record_once",
    "known_code",
    "record_hash",
)
FAULTS_SHOWN = 100
ALL_BITS = 2**32 - 1  # of a mask


@dataclass(frozen=True)
class Proof:
    """A proof: `sql` gives subject, found, expected; quick ones precede an edition."""

    name: str
    title: str
    sql: str
    is_quick: bool


def all_proofs() -> tuple[Proof, ...]:
    """Return every proof, the quick ones first."""
    slow = (_tally_proof(), _month_proof(), _verdict_proof())
    return (*map(_read_proof, PROOF_NAMES), *slow)


def read_faults(
    con: duckdb.DuckDBPyConnection, proofs: tuple[Proof, ...]
) -> pl.DataFrame:
    """Return what is wrong: proof (its title), subject, found, expected.

    At most FAULTS_SHOWN rows a proof. Empty where everything adds up.
    """
    found = [
        read_frame(
            con,
            f"""
            select $title as proof, subject, found, expected
            from ({proof.sql.rstrip().rstrip(";")})
            order by subject
            limit {FAULTS_SHOWN}
            """,
            {"title": proof.title},
        )
        for proof in proofs
    ]
    return pl.concat(found)


def _read_proof(name: str) -> Proof:
    sql = (FOLDER / f"{name}.sql").read_text("utf-8")
    header = read_header(sql)
    return Proof(name, header["title"], sql, header["when"] == "publish")


def _tally_proof() -> Proof:
    """Compare the tally, kept by adding and subtracting, with a count of all rows."""
    return _kept_proof(
        "tally_rebuilt",
        "The tally equals a count of all rows",
        ("tally", KEYS),
        counted_sql("installation"),
    )


def _month_proof() -> Proof:
    """Compare the month tally, kept in the same way, with sums of the tally."""
    return _kept_proof(
        "tally_month_rebuilt",
        "The month tally equals the sums of the tally",
        ("tally_month", MONTH_KEYS),
        by_month_sql("tally"),
    )


def _kept_proof(
    name: str, title: str, kept_as: tuple[str, Sequence[str]], rebuilt_sql: str
) -> Proof:
    """Compare a table of counts and its keys with what it should hold.

    A row of nothing but noughts, which subtracting leaves, is no difference.
    """
    table, keys = kept_as
    counted = " or ".join(f"{name} != 0" for name in count_columns())
    columns = ", ".join((*keys, *count_columns()))
    kept = f"select {columns} from {table} where {counted}"
    rebuilt = f"select {columns} from ({rebuilt_sql}) where {counted}"
    key = " || ' ' || ".join(f"coalesce({key}::varchar, '-')" for key in keys)
    sums = ", ".join(
        f"coalesce(sum({count}) filter (is_kept), 0) as {count}__found, "
        f"coalesce(sum({count}) filter (not is_kept), 0) as {count}__expected"
        for count in count_columns()
    )
    return Proof(
        name,
        title,
        f"""
        select
            subject, {_counts_sql("found")} as found,
            {_counts_sql("expected")} as expected
        from (
            select {key} as subject, {sums}
            from (
                select *, true as is_kept from ({kept} except all {rebuilt})
                union all
                select *, false as is_kept from ({rebuilt} except all {kept})
            )
            group by {", ".join(keys)}
        )
        """,
        is_quick=False,
    )


def _counts_sql(side: str) -> str:
    """Return the counts that differ, by their names, on one side."""
    differing = ", ".join(
        f"if({name}__found != {name}__expected, "
        f"'{name.replace('_', ' ')} ' || {name}__{side}, null)"
        for name in count_columns()
    )
    several = "the same counts in other rows"
    return f"coalesce(nullif(concat_ws(', ', {differing}), ''), '{several}')"


def _verdict_proof() -> Proof:
    """Compare the stored verdicts with those the sheets and options of today give.

    Where a wrench may have been used too often, its verdicts follow from all of its
    rows together: those are compared apart from the others.
    """
    kept = ", ".join(f"{mask} as kept_{mask}" for mask in MASKS)
    judged = verdict_masks_sql(
        f"(select * exclude ({', '.join(MASKS)}), {kept} from installation)",
        with_calibrations=True,
    )
    by_uses = "calibration.wrench_code is not null"
    compared = f"if({by_uses}, {ALL_BITS & ~WRENCH_BIT}, {ALL_BITS})::uinteger"
    differ = " or ".join(f"{mask} & bits != kept_{mask} & bits" for mask in MASKS)
    return Proof(
        "verdicts_recomputed",
        "Every stored verdict is the one that its row, setting data and calibrations "
        "give",
        f"""
        with overused as ({overused_periods_sql("calibration")})
        select {_difference_sql("kept_", "", "bits")}
        from (
            select logged.*, {compared} as bits
            from ({judged}) as logged
            left join overused as calibration on {IN_PERIOD}
        )
        where {differ}
        union all
        select {_difference_sql("", "right_", str(ALL_BITS))}
        from ({changed_verdicts_sql("overused")})
        """,
        is_quick=False,
    )


def _difference_sql(found: str, expected: str, compared: str) -> str:
    """Return subject, found and expected of a row with masks of two prefixes.

    Found and expected name the verdicts that differ among the bits `compared`.
    """
    differ = [
        " or ".join(
            f"xor({found}{mask}, {expected}{mask}) & {compared} & {1 << bit} != 0"
            for mask in MASKS
        )
        for bit in range(len(CHECK_NAMES))
    ]

    def verdicts(prefix: str) -> str:
        told = ", ".join(
            f"if({is_other}, '{name.replace('_', ' ')} ' || "
            f"{_verdict_sql(prefix, bit)}, null)"
            for bit, (name, is_other) in enumerate(
                zip(CHECK_NAMES, differ, strict=True)
            )
        )
        return f"coalesce(nullif(concat_ws(', ', {told}), ''), 'bits of no check')"

    return f"""
        site_code || ' record ' || record_id as subject,
        {verdicts(found)} as found,
        {verdicts(expected)} as expected"""


def _verdict_sql(prefix: str, bit: int) -> str:
    """Return the word of a check's verdict in masks; of spoilt masks all words."""
    words = ", ".join(
        f"if({prefix}{mask} & {1 << bit} != 0, '{verdict}', null)"
        for mask, verdict in zip(MASKS, MASKED_VERDICTS, strict=True)
    )
    return f"coalesce(nullif(concat_ws(' and ', {words}), ''), 'inapplicable')"
