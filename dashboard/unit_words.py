"""What to ask about units before anything else is made of a rate."""

from collections.abc import Mapping

import duckdb

from dashboard import words
from dashboard.kept import kept
from queries.readers.unit_questions import read_unit_questions
from queries.selection import Selection

NAMED = 2


def unit_lines(
    con: duckdb.DuckDBPyConnection, selection: Selection, names: Mapping[str, str]
) -> list[str]:
    """Return the lines to begin a page with; none where no receipt asks.

    `names`: of sites by code. Values typed in another unit fail by hundreds, and
    nobody is to be taught for it.
    """
    asked = [
        each
        for each in kept(con, "unit questions", lambda: read_unit_questions(con))
        if not selection.site_codes or each.site_code in selection.site_codes
    ]
    lines = [
        f"Ask {names.get(each.site_code, each.site_code)} about units first: "
        f"{each.said} ({each.file_name}). Until it answers, rates that rest on these "
        "values say nothing of the work."
        for each in asked[:NAMED]
    ]
    if len(asked) > NAMED:
        more = words.plural(len(asked) - NAMED, "more question")
        lines.append(f"{more} about units on Intake, in the remarks of receipts.")
    return lines
