"""Planned holes without an anchor logged, as a section of Sites."""

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.kept import read_kept_unlogged
from dashboard.pages.common import count_column, site_column, site_names
from dashboard.parts import Cell, Column, Row, behind, link, section, table
from dashboard.unlogged_words import much_unlogged_words, unlogged_words
from queries.readers.choices import Choices
from queries.readers.unlogged import much_unlogged, unlogged_by_site

HEADING = "Planned holes without an anchor logged"


def unlogged_section(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return the section: a row a site, behind its sentences."""
    names = site_names(choices)
    by_site = unlogged_by_site(read_kept_unlogged(con, view.selection))
    said = " ".join(unlogged_words(by_site, names, view.selection))
    if view.selection.crew_codes:
        said += " Of all crews: who sets a planned anchor may change."
    if by_site.is_empty():
        return section(HEADING, said)
    return section(
        HEADING,
        said,
        behind(
            table(by_site.to_dicts(), _columns(names), caption=HEADING),
            f"/csv/unlogged{format_search(view.selection)}",
            what="planned holes and anchors logged, by site",
            csv_what="planned holes and anchors logged, by site and setting data",
        ),
    )


def unlogged_part(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Div:
    """Return the sentence on the site with most holes unlogged, where that is much."""
    found = much_unlogged(unlogged_by_site(read_kept_unlogged(con, view.selection)))
    if found.is_empty():
        return html.Div()
    row = found.row(0, named=True)
    more = found.height - 1
    also = f" {words.plural(more, 'more site')} likewise." if more else ""
    name = site_names(choices).get(row["site_code"], row["site_code"])
    return html.Div(
        html.P(
            [
                f"{much_unlogged_words(row, name)}{also} ",
                link(HEADING, f"/sites{format_search(view.selection)}#unlogged"),
            ],
            className="counter" if view.selection.check_names else None,
        )
    )


def _columns(names: dict[str, str]) -> list[Column]:
    return [
        site_column(names),
        count_column("Planned and due", "planned"),
        count_column("Anchors logged", "logged"),
        Column("Without an anchor logged", _unlogged, is_number=True),
        count_column("Logged beyond the plan", "beyond"),
        Column(
            "Not compared",
            lambda row: words.count(row["ahead"] + row["unknown"]),
            is_number=True,
        ),
    ]


def _unlogged(row: Row) -> Cell:
    if not row["planned"]:
        return Cell(words.DASH)
    return Cell(words.count(row["unlogged"]), small=words.percent(row["unlogged_rate"]))
