"""Rows between those of the table: nothing that stands there is "above" a row.

Titles, totals, the column names again and what the map says is no row. A ditto mark
does not repeat them, and no merged cell begins in one.
"""

import duckdb

from etl.site_map import SiteMap
from etl.staging.staged_file import StagedFile

# A total lacks one of these.
_IDENTITY = ("installed_on", "installed_at", "crew_code", "setting_code")


def no_row_sql(staged: StagedFile, site_map: SiteMap) -> tuple[str, dict[str, object]]:
    """Return the condition that a row of staged_row is none, and its parameters."""
    parameters = dict(staged.shape_parameters)
    tests = [
        staged.is_title_sql,
        staged.is_repeated_header_sql,
        f"({staged.is_footer_sql} and {_lacks_identity_sql(staged, site_map)})",
    ]
    if site_map.not_rows:
        tests.append(staged.begins_sql("not_rows"))
        parameters["not_rows"] = [word.lower() for word in site_map.not_rows]
    # Of nothing but blanks, what a row begins with is not known.
    return f"is_blank_row or coalesce({' or '.join(tests)}, false)", parameters


def mark_no_rows(
    con: duckdb.DuckDBPyConnection, staged: StagedFile, site_map: SiteMap
) -> None:
    """Add is_no_row to staged_row where a map fills down: filled_down_sql asks it."""
    fills_listed = site_map.listed is not None and site_map.listed.fill_down
    if not site_map.filled_headers and not fills_listed:
        return
    con.execute("alter table staged_row add column if not exists is_no_row boolean")
    condition, parameters = no_row_sql(staged, site_map)
    con.execute(f"update staged_row set is_no_row = {condition}", parameters)


def _lacks_identity_sql(staged: StagedFile, site_map: SiteMap) -> str:
    """Return the condition that a row lacks a day, a crew or a setting code."""
    headers = [
        header
        for found in site_map.columns
        if found.column.name in _IDENTITY and not found.fill_down
        for header in found.own_headers
        if header in staged.headers
    ]
    blank = (f"is_blank({staged.cell_sql(header)})" for header in headers)
    return f"({' or '.join(blank) or 'true'})"
