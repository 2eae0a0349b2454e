"""Create the schema, the macros and the views in a ledger."""

from pathlib import Path

import duckdb

from queries.columns import LOGGED_NAMES
from queries.judgement import CHECK_NAMES, check_sql, installation_verdict_sql
from queries.tally import create_tally_sql, tally_check_sql

# Raised whenever tables, checks or views change what a store means.
SCHEMA_VERSION = 1

FOLDER = Path(__file__).parent
# In order of dependency; a test compares it with the files on disk.
VIEW_NAMES = (
    "anchor_size",
    "rate",
    "site_rate",
    "crew_rate",
    "anchor_size_rate",
    "week_rate",
    "judged_day",
    "drilled_hole",
    "drilling_by_depth",
    "drilling_summary",
    "nonconforming_installation",
)


def create_schema(con: duckdb.DuckDBPyConnection) -> None:
    """Create all tables, macros and views in an empty database."""
    con.execute((FOLDER / "tables.sql").read_text("utf-8"))
    con.execute(create_tally_sql())
    con.execute("insert into schema_version values (?)", [SCHEMA_VERSION])
    create_macros(con)
    create_views(con)


def create_macros(con: duckdb.DuckDBPyConnection) -> None:
    """Create the shared macros and those of every check."""
    con.execute((FOLDER / "macros.sql").read_text("utf-8"))
    con.execute(_is_unreadable_sql())
    for name in CHECK_NAMES:
        con.execute(check_sql(name))


def create_views(con: duckdb.DuckDBPyConnection) -> None:
    """Create the views over installation and tally."""
    con.execute(tally_check_sql())
    con.execute(installation_verdict_sql())
    for name in VIEW_NAMES:
        con.execute((FOLDER / "views" / f"{name}.sql").read_text("utf-8"))


def _is_unreadable_sql() -> str:
    """Return the macro that asks whether a column's value could not be read.

    The position of the name in the list is a constant to the planner, so a check
    pays one shift a row.
    """
    names = ", ".join(f"'{name}'" for name in LOGGED_NAMES)
    return f"""
create or replace macro is_unreadable(logged, column_name) as
(logged.field_fault_mask >> (list_position([{names}], column_name) - 1)) & 1 = 1"""
