"""Single installations: the nonconforming ones, and one down to its file and row."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.judgement import ANY_CHECK, CHECK_NAMES, all_checks
from queries.readers.found_out import read_found_out_of
from queries.record_hash import has_number_sql
from queries.record_verdict import record_words_sql, stored_verdicts
from queries.selection import Selection

RATIO_CAUTION = (
    "The ratio only orders follow-up: what a short embedment and a near edge leave of "
    "an undisturbed concrete cone (EN 1992-4, ACI 318). It is no capacity and accepts "
    "nothing; ask the engineer responsible."
)


@dataclass(frozen=True)
class Record:
    """One installation with everything that is known of it.

    `logged` holds the row as stored, `required` its setting data, both by column.
    `verdicts`: check, verdict, margin, unit, direction, words. `faults`: column_name,
    raw_value, reason. `revisions`: revision, is_current, file_name, source_row,
    loaded_at, newest first. `questions`: entries that contradict each other, in words.
    `ratio`: embedment_ratio, edge_ratio, cone_ratio (fractions, indicative, None where
    not known). `recheck`: recheck_torque_nm, recheck_share of the torque at setting,
    age_days; None where there was none. `found_out`: wrench_code, calibrated_on,
    found_on, where its wrench was found out of tolerance afterwards.
    """

    logged: dict[str, object]
    required: dict[str, object]
    verdicts: pl.DataFrame
    faults: pl.DataFrame
    revisions: pl.DataFrame
    questions: list[str]
    ratio: dict[str, float | None]
    recheck: dict[str, Any] | None
    found_out: dict[str, Any] | None
    file_name: str
    source_row: int
    loaded_at: datetime


def _wanted_mask(check_names: Sequence[str]) -> int:
    """Return the bits of the checks asked for; none or any_check means all."""
    named = () if ANY_CHECK in check_names else check_names
    return sum(1 << CHECK_NAMES.index(name) for name in named or CHECK_NAMES)


def read_nonconforming_by_ratio(
    con: duckdb.DuckDBPyConnection, selection: Selection
) -> pl.DataFrame:
    """Return nonconforming anchors by indicative cone ratio, a row a site.

    Columns: site, nonconforming, below_070, below_085, below_1, nothing_lost,
    not_known (counts that add up to nonconforming), lowest (a fraction). Each anchor
    counts once. `nonconforming_by_ratio.sql` defines them.
    """
    return read_frame(
        con,
        """
        select * from nonconforming_by_ratio(
            $wanted_mask, $from_on, $to_on, $site_codes, $crew_codes, $anchor_sizes
        )
        order by site
        """,
        {
            **selection.parameters(),
            "wanted_mask": _wanted_mask(selection.check_names),
        },
    )


def read_record(
    con: duckdb.DuckDBPyConnection, site_code: str, record_id: str
) -> Record | None:
    """Return one installation, None where no such record is current."""
    key = {"site_code": site_code, "record_id": record_id}
    found = read_frame(
        con,
        f"""
        select * exclude (record_hash) from installation
        where site_code = $site_code and {has_number_sql(con, "$record_id")}
        """,
        key,
    )
    if found.is_empty():
        return None
    logged = found.row(0, named=True)
    required = read_frame(
        con,
        "select * from requirement where setting_code = $setting_code",
        {"setting_code": logged["setting_code"]},
    )
    # Where the row stands leads to it faster than its identity: rows lie in this order.
    source = {name: logged[name] for name in ("source_file_id", "source_row")}
    revisions = _read_revisions(con, key | source)
    current = revisions.row(0, named=True)
    return Record(
        logged=logged,
        required=required.row(0, named=True),
        verdicts=_read_verdicts(con, logged, source),
        faults=read_frame(
            con,
            """
            select column_name, raw_value, reason from field_fault
            where source_file_id = $source_file_id and source_row = $source_row
            order by column_name
            """,
            source,
        ),
        revisions=revisions,
        questions=_read_questions(con, logged, source),
        ratio=_first(_read_rows(con, "indicative_ratio", source))
        or dict.fromkeys(("embedment_ratio", "edge_ratio", "cone_ratio")),
        recheck=None
        if logged["recheck_torque_nm"] is None
        else _first(_read_rows(con, "recheck", source)),
        found_out=read_found_out_of(con, logged),
        file_name=current["file_name"],
        source_row=current["source_row"],
        loaded_at=current["loaded_at"],
    )


def _read_rows(
    con: duckdb.DuckDBPyConnection, view: str, source: dict[str, object]
) -> pl.DataFrame:
    """Return what a view with a row an installation says of one record."""
    return read_frame(
        con,
        f"""
        select * exclude (site_code, record_id, source_file_id, source_row)
        from {view}
        where source_file_id = $source_file_id and source_row = $source_row
        """,
        source,
    )


def _read_questions(
    con: duckdb.DuckDBPyConnection,
    logged: dict[str, object],
    source: dict[str, object],
) -> list[str]:
    """Return what contradicts itself: embedment, hole and time of a re-check."""
    asked_of = ("embedment_mm", "hole_depth_mm", "recheck_at")
    if all(logged[name] is None for name in asked_of):
        return []
    return _read_rows(con, "data_question", source)["question"].to_list()


def _first(rows: pl.DataFrame) -> dict[str, float | None] | None:
    return None if rows.is_empty() else rows.row(0, named=True)


def _read_verdicts(
    con: duckdb.DuckDBPyConnection,
    logged: dict[str, object],
    source: dict[str, object],
) -> pl.DataFrame:
    verdicts = stored_verdicts(logged)
    if logged["outcome"] == "abandoned":
        said: list[tuple[object, ...]] = [_NOT_JUDGED] * len(verdicts)
    else:
        asked = record_words_sql(
            verdicts, with_calibrations=logged["wrench_code"] is not None
        )
        [row] = con.execute(asked, source).fetchall()
        said = [row[start : start + 3] for start in range(0, len(row), 3)]
    return pl.DataFrame(
        [
            (check.name, verdicts[check.name], check.unit, *of_check)
            for check, of_check in zip(all_checks(), said, strict=True)
        ],
        schema={
            "check": pl.String,
            "verdict": pl.String,
            "unit": pl.String,
            "margin": pl.Float64,
            "direction": pl.String,
            "words": pl.String,
        },
        orient="row",
    ).select("check", "verdict", "margin", "unit", "direction", "words")


# Margin, direction and words of every check of such an attempt.
_NOT_JUDGED = (None, None, "abandoned attempt: not judged")


def _read_revisions(
    con: duckdb.DuckDBPyConnection, key: dict[str, object]
) -> pl.DataFrame:
    return read_frame(
        con,
        """
        with kept as (
            select revision, source_file_id, source_row, true as is_current
            from installation
            where source_file_id = $source_file_id and source_row = $source_row
            union all
            select revision, source_file_id, source_row, false as is_current
            from superseded_installation
            where site_code = $site_code and record_id = $record_id
        )
        select revision, is_current, file_name, source_row, loaded_at
        from kept
        inner join source_file using (source_file_id)
        order by revision desc
        """,
        key,
    )
