"""Proofs: queries that return what is wrong with a store; no row is a proof.

One SQL file a proof in `queries/proofs/`, with columns subject, found and expected.
Those that hold whatever else must (`when: publish`) are asked before every edition;
the others read every row and are asked by `firmset verify`.
"""

from dataclasses import dataclass
from pathlib import Path

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.header import read_header
from queries.judgement import MASKED_VERDICTS, verdict_masks_sql
from queries.tally import KEYS, count_columns, counted_sql

FOLDER = Path(__file__).parent / "proofs"
PROOF_NAMES = (
    "receipt_rows",
    "file_of_row",
    "conflict_rejected",
    "tally_total",
    "loaded_or_revised",
    "record_once",
    "known_code",
)
FAULTS_SHOWN = 100


@dataclass(frozen=True)
class Proof:
    """A proof: `sql` gives subject, found, expected; quick ones precede an edition."""

    name: str
    title: str
    sql: str
    is_quick: bool


def all_proofs() -> tuple[Proof, ...]:
    """Return every proof, the quick ones first."""
    return (*map(_read_proof, PROOF_NAMES), _tally_proof(), _verdict_proof())


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
    counted = " or ".join(f"{name} != 0" for name in count_columns())
    columns = ", ".join((*KEYS, *count_columns()))
    kept = f"select {columns} from tally where {counted}"
    rebuilt = f"select {columns} from ({counted_sql('installation')})"
    key = " || ' ' || ".join(f"coalesce({name}::varchar, '-')" for name in KEYS)
    counts = ", ".join(count_columns())
    return Proof(
        "tally_rebuilt",
        "The tally equals a count of all rows",
        f"""
        select
            {key} as subject,
            list(row({counts})::varchar) filter (is_kept)::varchar as found,
            list(row({counts})::varchar) filter (not is_kept)::varchar as expected
        from (
            select *, true as is_kept from ({kept} except all {rebuilt})
            union all
            select *, false as is_kept from ({rebuilt} except all {kept})
        )
        group by {", ".join(KEYS)}
        """,
        is_quick=False,
    )


def _verdict_proof() -> Proof:
    """Compare the stored verdicts with those the setting data of today give."""
    masks = [f"{verdict}_mask" for verdict in MASKED_VERDICTS]
    kept = ", ".join(f"{mask} as kept_{mask}" for mask in masks)
    judged = verdict_masks_sql(
        f"(select * exclude ({', '.join(masks)}), {kept} from installation)"
    )
    differ = " or ".join(f"{mask} != kept_{mask}" for mask in masks)
    return Proof(
        "verdicts_recomputed",
        "Every stored verdict is the one that its row and setting data give",
        f"""
        select
            site_code || ' record ' || record_id as subject,
            row({", ".join(f"kept_{mask}" for mask in masks)})::varchar as found,
            row({", ".join(masks)})::varchar as expected
        from ({judged})
        where {differ}
        """,
        is_quick=False,
    )
