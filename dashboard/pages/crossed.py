"""The section that tells crews from the inspectors who judged them."""

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.crossed_words import crossed_words
from dashboard.kept import kept
from dashboard.parts import Column, Row, behind, section, table
from queries.judgement import ANY_CHECK
from queries.readers.choices import Choices
from queries.readers.crossed import CrossedCrews, read_crossed

HEADING = "A crew, or its inspector?"


def read_kept_crossed(con: duckdb.DuckDBPyConnection, view: View) -> CrossedCrews:
    """Return the crossed model of a view's check, kept per edition."""
    return kept(
        con,
        ("crossed", view.one_check),
        lambda: read_crossed(con, view.check_name, view.selection),
    )


def crossed_section(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return each crew's rate under an average inspector, and what cannot be told."""
    if view.check_name == ANY_CHECK:
        return section(HEADING, "Choose one check: inspectors are compared by check.")
    found = read_kept_crossed(con, view)
    said = crossed_words(found)
    title = words.title(view.check_name).lower()
    return section(
        HEADING,
        said[0],
        html.Ul([html.Li(sentence) for sentence in said[1:]]),
        behind(
            table(
                found.crews.to_dicts(),
                [
                    Column("Crew", lambda row: row["crew"]),
                    Column("Group", lambda row: str(row["group"]), is_number=True),
                    Column("Found", _found, is_number=True),
                    Column("Average inspector", _adjusted, is_number=True),
                ],
                caption=f"{words.title(view.check_name)} under an average inspector",
                look="tall",
            ),
            "/csv/crossed-crews" + format_search(view.one_check),
            what=f"{title}, crews under an average inspector",
        ),
    )


def _found(row: Row) -> str:
    return words.share(row["nonconforming"], row["judged"])


def _adjusted(row: Row) -> str:
    if row["adjusted_rate"] is None:
        return "cannot be told"
    span = words.interval(row["adjusted_low"], row["adjusted_high"])
    return f"{words.percent(row['adjusted_rate'])} ({span})"
