"""Between the wall and the file: revisions, repeated rows, and what no one can read."""

from dataclasses import dataclass

import numpy as np
import polars as pl

UNREADABLE_COLUMNS = ("hole_depth_mm", "setting_torque_nm", "drill_s", "concrete_mpa")
UNREADABLE_WORDS = ("approx 60", "see sheet", "1O5", "12..5")
UNKNOWN_SETTING = "DZ-M14-75"
IMPOSSIBLE_DATE = "2026-02-30"
SPOILED_DEPTH_MM = 10.0
CORRECTED = "corrected: hole measured again"
ENTERED_TWICE = "entered twice"

FATES = ("loaded", "revised", "duplicate", "rejected")

# Columns of log rows besides those of an installation. A raw cell stands in the file
# in place of the row's value in that column; there is at most one a row.
FATE_COLUMNS = ("fate", "fault", "raw_column", "raw_value")


@dataclass(frozen=True)
class FaultCounts:
    """How many of each clerical fault are planted, all on different installations."""

    revised: int
    duplicate: int
    unreadable: int
    conflict: int
    unknown_setting: int
    impossible_date: int = 0
    no_date: int = 0
    no_crew: int = 0
    broken_line: int = 0


@dataclass(frozen=True)
class Logged:
    """What the sites' files say, and what a faultless intake makes of it.

    `log_rows` has every row of the files, `installations` the current revision of
    every installation that is loaded. Both are in the order of site and file.
    """

    installations: pl.DataFrame
    log_rows: pl.DataFrame


def add_clerical_faults(
    rows: pl.DataFrame,
    counts: FaultCounts,
    rng: np.random.Generator,
    *,
    unreadable_columns: tuple[str, ...] = UNREADABLE_COLUMNS,
    is_in_place: bool = False,
) -> Logged:
    """Spoil a few rows; what is added follows its original, or ends the site's file.

    Originals of revisions carry a spoiled depth, their revisions the true one. A
    rejected row has an identity of its own, but for conflicts: they say something
    else under the identity and revision of a row that stays.
    """
    picked = _pick(rows, counts, rng)
    plain = rows.with_columns(
        fate=pl.lit("loaded"),
        **{name: pl.lit(None, pl.String) for name in FATE_COLUMNS[1:]},
    ).with_row_index("position")
    position = pl.col("position")
    read = _make_unreadable(plain, picked["unreadable"], unreadable_columns, rng)
    is_revised = position.is_in(picked["revised"].implode())
    final = read.with_columns(
        revision=pl.when(is_revised).then(1).otherwise("revision"),
        note=pl.when(is_revised).then(pl.lit(CORRECTED)).otherwise("note"),
    )
    first = read.with_columns(
        hole_depth_mm=pl.when(is_revised)
        .then(pl.col("hole_depth_mm") - SPOILED_DEPTH_MM)
        .otherwise("hole_depth_mm")
    )
    added = [
        final.filter(is_revised).with_columns(fate=pl.lit("revised")),
        first[picked["duplicate"]].with_columns(fate=pl.lit("duplicate")),
        *_rejected(first, picked),
    ]
    extra = pl.concat(added)
    order = "position" if is_in_place else "site_code"
    log_rows = pl.concat([first, extra]).sort(order, maintain_order=True)
    return Logged(
        installations=final.drop("position", *FATE_COLUMNS),
        log_rows=log_rows.drop("position"),
    )


def _pick(
    rows: pl.DataFrame, counts: FaultCounts, rng: np.random.Generator
) -> dict[str, pl.Series]:
    """Choose different installations for each fault, among anchors logged in full."""
    candidates = (
        rows.with_row_index("position")
        .filter(
            pl.col("outcome") == "set",
            pl.col("hole_depth_mm").is_not_null(),
            pl.col("setting_torque_nm").is_not_null(),
        )["position"]
        .to_numpy()
    )
    shuffled = rng.permutation(candidates)
    picked, start = {}, 0
    for name, count in vars(counts).items():
        picked[name] = pl.Series(
            shuffled[start : start + count], dtype=pl.UInt32
        ).sort()
        start += count
    return picked


def _make_unreadable(
    rows: pl.DataFrame,
    positions: pl.Series,
    columns: tuple[str, ...],
    rng: np.random.Generator,
) -> pl.DataFrame:
    """Put words where a number belongs: one column a row, its value then unknown."""
    spoiled = pl.DataFrame(
        {
            "position": positions,
            "column": pl.Series(columns)[rng.integers(0, len(columns), len(positions))],
            "word": pl.Series(UNREADABLE_WORDS)[
                rng.integers(0, len(UNREADABLE_WORDS), len(positions))
            ],
        }
    )
    joined = rows.join(spoiled, on="position", how="left", maintain_order="left")
    blanked = [
        pl.when(pl.col("column").ne_missing(name)).then(pl.col(name)).alias(name)
        for name in columns
    ]
    return joined.with_columns(
        *blanked, raw_column=pl.col("column"), raw_value=pl.col("word")
    ).drop("column", "word")


def _rejected(rows: pl.DataFrame, picked: dict[str, pl.Series]) -> list[pl.DataFrame]:
    """Return the rows that no intake may take, by kind of fault."""
    own_identity = {"record_id": pl.col("record_id") + "R"}
    no_date = {
        name: pl.lit(None, rows.schema[name])
        for name in ("installed_on", "installed_at", "installed_local")
    }
    changes: dict[str, dict[str, pl.Expr]] = {
        "conflict": {"note": pl.lit(ENTERED_TWICE)},
        "unknown_setting": own_identity | {"setting_code": pl.lit(UNKNOWN_SETTING)},
        "impossible_date": own_identity
        | no_date
        | {
            "raw_column": pl.lit("installed_on"),
            "raw_value": pl.lit(IMPOSSIBLE_DATE),
        },
        "no_date": own_identity | no_date,
        "no_crew": own_identity | {"crew_code": pl.lit(None, pl.String)},
        # The file's writer breaks the line.
        "broken_line": own_identity,
    }
    return [
        rows[picked[kind]].with_columns(
            fate=pl.lit("rejected"), fault=pl.lit(kind), **change
        )
        for kind, change in changes.items()
    ]


def expected_receipts(log_rows: pl.DataFrame) -> pl.DataFrame:
    """Return what a load must report of each site's file, from what was planted.

    Columns: site_code, rows_read, loaded, revised, duplicate, rejected, field_faults;
    the four fates add up to rows_read.
    """
    is_taken = pl.col("fate").is_in(["loaded", "revised"])
    return (
        log_rows.group_by("site_code")
        .agg(
            pl.len().alias("rows_read"),
            *((pl.col("fate") == fate).sum().alias(fate) for fate in FATES),
            (is_taken & pl.col("raw_column").is_not_null()).sum().alias("field_faults"),
        )
        .sort("site_code")
        .cast({pl.UInt32: pl.Int64})
    )
