"""What revisions changed, as a section of Sites and Crews."""

from dataclasses import replace
from functools import partial

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.kept import read_kept_revised
from dashboard.later import Render
from dashboard.pages.common import count_column, site_names
from dashboard.parts import Cell, Column, Row, behind, csv_link, link, section, table
from dashboard.revised_words import mended_words, revised_words
from queries.judgement import CHECK_NAMES, HEADLINE_NAMES
from queries.readers.choices import Choices
from queries.readers.revised import (
    CHANGES,
    mended_by_check,
    read_first_rates,
    read_much_mended,
)

HEADING = "What revisions changed"
_HEADS = {
    "mended": "Nonconforming first, conforming now",
    "worsened": "Conforming first, nonconforming now",
    "answered": "Answered later",
    "withdrawn": "No answer any more",
}


def revised_of(by: str) -> Render:
    """Return the render function of the section on sites or crews (`by`)."""
    return partial(_revised, by)


def _revised(
    by: str, con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    names = site_names(choices) if by == "site" else {}
    revised = read_kept_revised(con)
    mended = mended_by_check(revised, view.selection)
    rates = read_first_rates(con, by, view.selection, view.check_name, revised)
    rows = [
        row | {"name": names.get(row["group"], row["group"])}
        for row in rates.to_dicts()
    ]
    check = words.title(view.check_name)
    said = revised_words(rates, view.check_name, by, names, mended)
    if not rows:
        return section(HEADING, " ".join(said))
    search = format_search(view.one_check)
    return section(
        HEADING,
        f"{check} as first logged, beside what is in force now. " + " ".join(said),
        behind(
            table(
                rows,
                _columns(by, [name for name in CHANGES if rates[name].sum()]),
                caption=f"{check}, as first logged and now",
            ),
            f"/csv/{by}-revised{search}",
            what=f"{check.lower()}, as first logged and now",
            csv_what=f"{check.lower()} as first logged, by {by}",
        ),
        html.P(
            [
                "The revised records, one by one: ",
                csv_link(f"/csv/revised-records{search}", "revised records"),
            ],
            className="offered",
        ),
    )


def mended_part(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Div:
    """Return the sentence of Sites on what revisions mended, where that is much.

    Of the check chosen, else of the headline checks, for the lead.
    """
    is_chosen = bool(view.selection.check_names)
    asked = (view.check_name,) if is_chosen else HEADLINE_NAMES
    # Any check is none of its own: what was mended is on one of the others.
    checks = [name for name in asked if name in CHECK_NAMES]
    found = read_much_mended(con, view.selection, read_kept_revised(con), checks)
    if found.is_empty():
        return html.Div()
    row = found.row(0, named=True)
    more = found.height - 1
    also = f" {words.plural(more, 'more case', 'more cases')} likewise." if more else ""
    name = site_names(choices).get(row["group"], row["group"])
    shown = replace(view.selection, check_names=(row["check"],))
    return html.Div(
        html.P(
            [
                f"{mended_words(row, name)}{also} ",
                link(HEADING, f"/sites{format_search(shown)}#revised"),
            ],
            className="counter" if is_chosen else None,
        )
    )


def _columns(by: str, changed: list[str]) -> list[Column]:
    """Return the columns; of the changes those that some group has."""

    return [
        Column(by.capitalize(), lambda row: row["name"]),
        count_column("Revised records", "revised"),
        *(count_column(_HEADS[name], name) for name in changed),
        Column("As first logged", partial(_rate, "first_"), is_number=True),
        Column("Now", partial(_rate, ""), is_number=True),
    ]


def _rate(of: str, row: Row) -> Cell:
    share = words.share(row[f"{of}nonconforming"], row[f"{of}judged"])
    return Cell(words.percent(row[f"{of}rate"]), small=share)
