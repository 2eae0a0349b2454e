"""Create the schema, the macros and the views in a ledger."""

from pathlib import Path

import duckdb

from queries.judgement import installation_verdict_sql
from queries.tally import create_tally_sql, tally_check_sql

# Raised whenever tables, checks or views change what a store means; with a step in
# etl/migrations that takes an older store there, or OLDEST_TO_MIGRATE.
SCHEMA_VERSION = 13
OLDEST_TO_MIGRATE = 8

FOLDER = Path(__file__).parent
# In order of dependency; a test compares it with the files on disk.
VIEW_NAMES = (
    "requirement",
    "calibration",
    "found_out",
    "installation_verdict",
    "tally_check",
    "anchor_size",
    "count_with_idle",
    "rate_of_count",
    "rate",
    "site_rate",
    "crew_rate",
    "anchor_size_rate",
    "week_rate",
    "judged_day",
    "planned_work",
    "planned_beside_logged",
    "drilled_hole",
    "drilling_by_depth",
    "drilling_summary",
    "handling_time",
    "drilling_step",
    "drilling_speed",
    "doubtful_crew_day",
    "bit_day",
    "timed_attempt",
    "drilling_cell",
    "drilling_depth",
    "nonconforming_by_ratio",
    "indicative_ratio",
    "data_question",
    "recheck",
    "reading_step",
    "gauge",
    "batch_row",
    "batch_time",
    "batch_count",
    "batch_time_count",
    "batch_sign",
    "batch_record",
    "doubted_count",
)


def create_schema(con: duckdb.DuckDBPyConnection) -> None:
    """Create all tables, macros and views in an empty database."""
    for name in ("tables", "sheet_tables", "drill_bit_band"):
        con.execute((FOLDER / f"{name}.sql").read_text("utf-8"))
    con.execute(create_tally_sql())
    con.execute("insert into schema_version values (?)", [SCHEMA_VERSION])
    create_macros(con)
    create_views(con)


def create_macros(con: duckdb.DuckDBPyConnection) -> None:
    """Create the shared macros."""
    con.execute((FOLDER / "macros.sql").read_text("utf-8"))


def create_views(con: duckdb.DuckDBPyConnection) -> None:
    """Create the views over installation and tally."""
    for name in VIEW_NAMES:
        con.execute(_GENERATED[name]() if name in _GENERATED else view_sql(name))


def view_sql(name: str) -> str:
    """Return the SQL text of a view's file."""
    return (FOLDER / "views" / f"{name}.sql").read_text("utf-8")


# Views with a column or a branch a check.
_GENERATED = {
    "installation_verdict": installation_verdict_sql,
    "tally_check": tally_check_sql,
}
