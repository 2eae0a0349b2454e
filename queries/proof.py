"""Proofs: queries that return what is wrong with a store; no row is a proof.

One SQL file a proof in `queries/proofs/`, with columns subject, found and expected.
Those that hold whatever else must (`when: publish`) are asked before every edition;
the others read every row and are asked by `firmset verify`.
"""

from dataclasses import dataclass
from pathlib import Path

import duckdb
import polars as pl

from queries.batch_parts import batch_parts
from queries.frames import read_frame
from queries.header import read_header
from queries.judgement import (
    CHECK_NAMES,
    JUDGED_NAMES,
    MASKED_VERDICTS,
    MASKS,
    judgement_sql,
)
from queries.kept_counts import kept_counts, kept_proof_sql
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
    "batch_waiting",
    "batch_of_rows",
    "loaded_or_revised",
    "record_once",
    "known_code",
    "record_hash",
    "cone_ratio",
)
FAULTS_SHOWN = 100
ALL_BITS = 2**32 - 1  # of a mask


@dataclass(frozen=True)
class Proof:
    """A proof: `sql` gives subject, found, expected; quick ones precede an edition.

    That of a proof `by_parts` asks for the batches of $batch_keys, all of which lie
    between $from_on and $to_on.
    """

    name: str
    title: str
    sql: str
    is_quick: bool = False
    by_parts: bool = False


def all_proofs() -> tuple[Proof, ...]:
    """Return every proof, the quick ones first."""
    kept = (
        Proof(
            one.name, one.title, kept_proof_sql(one), by_parts="$batch_keys" in one.kept
        )
        for one in kept_counts()
    )
    return (*map(_read_proof, PROOF_NAMES), *kept, _verdict_proof())


def read_faults(
    con: duckdb.DuckDBPyConnection, proofs: tuple[Proof, ...]
) -> pl.DataFrame:
    """Return what is wrong: proof (its title), subject, found, expected.

    At most FAULTS_SHOWN rows a proof. Empty where everything adds up.
    """
    in_parts = any(proof.by_parts for proof in proofs)
    parts = [part.parameters for part in batch_parts(con)] if in_parts else []
    found = [
        _read_faults_of(con, proof, parameters)
        for proof in proofs
        for parameters in (parts if proof.by_parts else [{}])
    ]
    faults = pl.concat(found)
    return faults.filter(pl.int_range(pl.len()).over("proof") < FAULTS_SHOWN)


def _read_faults_of(
    con: duckdb.DuckDBPyConnection, proof: Proof, parameters: dict[str, object]
) -> pl.DataFrame:
    return read_frame(
        con,
        f"""
        select $title as proof, subject, found, expected
        from ({proof.sql.rstrip().rstrip(";")})
        order by subject
        limit {FAULTS_SHOWN}
        """,
        {"title": proof.title} | parameters,
    )


def _read_proof(name: str) -> Proof:
    sql = (FOLDER / f"{name}.sql").read_text("utf-8")
    header = read_header(sql)
    return Proof(name, header["title"], sql, header["when"] == "publish")


def _verdict_proof() -> Proof:
    """Compare the stored verdicts with those the sheets and options of today give.

    Where a wrench may have been used too often, its verdicts follow from all of its
    rows together: those are compared apart from the others.
    """
    kept = ", ".join(f"{mask} as kept_{mask}" for mask in MASKS)
    judged = judgement_sql(
        f"(select * exclude ({', '.join(JUDGED_NAMES)}), {kept} from installation)",
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
    )


def _difference_sql(found: str, expected: str, compared: str) -> str:
    """Return subject, found and expected of a row with masks of two prefixes.

    Found and expected name the verdicts that differ among the bits `compared`.
    """
    differing = " | ".join(f"xor({found}{mask}, {expected}{mask})" for mask in MASKS)
    spoken = [name.replace("_", " ") for name in CHECK_NAMES]

    # By a list of bits: a statement with an expression a check and verdict takes longer
    # to plan than a small store takes to read.
    def verdicts(prefix: str) -> str:
        return f"""coalesce(nullif(array_to_string(
            list_transform(
                list_filter(
                    range({len(spoken)}),
                    lambda bit: (({differing}) & {compared}) >> bit & 1 = 1
                ),
                lambda bit: {spoken}[bit + 1] || ' ' || {_verdict_sql(prefix)}
            ), ', '
        ), ''), 'bits of no check')"""

    return f"""
        site_code || ' record ' || record_id as subject,
        {verdicts(found)} as found,
        {verdicts(expected)} as expected"""


def _verdict_sql(prefix: str) -> str:
    """Return the word of the verdict of check `bit` in masks; of spoilt masks all."""
    words = ", ".join(
        f"if({prefix}{mask} >> bit & 1 = 1, '{verdict}', null)"
        for mask, verdict in zip(MASKS, MASKED_VERDICTS, strict=True)
    )
    return f"coalesce(nullif(concat_ws(' and ', {words}), ''), 'inapplicable')"
