"""Ditto marks that a site map does not name: a question on the receipt."""

import json

import duckdb

from etl.draft.as_above import is_mark
from etl.site_map import SiteMap
from etl.staging import folded_mark

# Why rows are rejected of which a cell that all rows need cannot be read.
_UNREAD = ("no_date", "no_crew_code", "no_setting_code", "unknown_setting_code")


def question_of_marks(
    con: duckdb.DuckDBPyConnection, site_map: SiteMap, source_file_id: int
) -> list[str]:
    """Ask whether what rows have for a day, a crew or a code repeats the one above.

    As etl.questions.questions; of the file's rejected rows. A mark that the map names
    had nothing above it.
    """
    named = {folded_mark(mark) for mark in site_map.as_above}
    rows = con.execute(
        """
        select regexp_extract(reason, ': ''(.*)'', expected', 1) as cell, count(*)
        from rejected_row
        where source_file_id = $source_file_id and list_contains($unread, reason_code)
        group by cell
        order by cell
        """,
        {"source_file_id": source_file_id, "unread": list(_UNREAD)},
    ).fetchall()
    marks = {
        cell.strip(): count
        for cell, count in rows
        if is_mark(cell) and folded_mark(cell) not in named
    }
    if not marks:
        return []
    count = sum(marks.values())
    listed = json.dumps(list(marks), ensure_ascii=False)
    question = (
        f"{count} {'row holds' if count == 1 else 'rows hold'} "
        f"{' or '.join(map(repr, marks))} for a day, a crew or a setting code, "
        "rejected: a question whether that means as above; if so, write as_above = "
        f"{listed} under [files] of the site map, and load the file again"
    )
    return [question]
