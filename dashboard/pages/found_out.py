"""Wrenches found out of tolerance, each with a link to the anchors set with it."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any

import duckdb
from dash import html

from dashboard.address import records_href
from dashboard.kept import read_kept_found_out
from dashboard.parts import link
from dashboard.wrench_words import ALSO, NAMED, also_words, found_out_words
from queries.readers.record_search import NOT_ABANDONED
from queries.selection import Selection


def found_out_lead(
    con: duckdb.DuckDBPyConnection, selection: Selection, names: Mapping[str, str]
) -> list[html.P]:
    """Return the lines of found_out_lines, with links, for the top of a page."""
    rows = read_kept_found_out(con, selection)
    lines = [
        html.P(
            [
                found_out_words(row, names),
                " ",
                _link(f"Anchors set with {row['wrench_code']}", row, selection),
            ]
        )
        for row in rows[:NAMED]
    ]
    others = [
        part
        for row in rows[NAMED:]
        for part in ("; ", _link(also_words(row), row, selection))
    ]
    return [*lines, html.P([ALSO, *others[1:], "."])] if others else lines


def _link(text: str, row: Mapping[str, Any], selection: Selection) -> html.A:
    """Return a link to exactly these anchors, of the selection."""
    last_on = row["found_on"] - timedelta(days=1)
    begun = [day for day in (row["calibrated_on"], selection.from_on) if day]
    asked = replace(
        selection,
        from_on=max(begun, default=None),
        to_on=min(last_on, selection.to_on or last_on),
        check_names=(),
    )
    search = (
        ("verdict", ("any",)),
        ("outcome", (NOT_ABANDONED,)),
        ("wrench", (row["wrench_code"],)),
    )
    return link(text, records_href(asked, search))
