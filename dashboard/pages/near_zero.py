"""The sentence of Sites on rates near nothing that rest on records worth a look."""

from dataclasses import replace

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.near_zero import near_zero_words, read_near_zero
from dashboard.pages.common import site_names
from dashboard.parts import link
from queries.judgement import HEADLINE_NAMES
from queries.readers.choices import Choices


def near_zero_part(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Div:
    """Return the sentence with its link; nothing where no rate asks for it.

    Of the check chosen, else the clearest of the headline checks, for the lead.
    """
    is_chosen = bool(view.selection.check_names)
    checks = (view.check_name,) if is_chosen else HEADLINE_NAMES
    found = read_near_zero(con, view.selection, checks)
    if found.is_empty():
        return html.Div()
    row = found.row(0, named=True)
    more = found.height - 1
    case = "more crew" if is_chosen else "more case of a crew and a check"
    cases = "more crews" if is_chosen else "more cases of a crew and a check"
    also = f" {words.plural(more, case, cases)} likewise." if more else ""
    crew = replace(
        view.selection,
        site_codes=(row["site"],),
        crew_codes=(row["crew"],),
        check_names=(row["check"],),
    )
    return html.Div(
        html.P(
            [
                near_zero_words(row, site_names(choices)) + also + " ",
                link(
                    "Records worth a look, on Crews",
                    "/crews" + format_search(crew) + "#doubts",
                ),
            ],
            className="counter" if is_chosen else None,
        )
    )
