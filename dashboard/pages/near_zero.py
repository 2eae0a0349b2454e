"""The sentence of Sites on rates near nothing that rest on records worth a look."""

from dataclasses import replace

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.near_zero import near_zero_words, read_near_zero
from dashboard.pages.common import site_names
from dashboard.parts import link
from queries.readers.choices import Choices


def near_zero_part(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Div:
    """Return the sentence with its link; nothing where no rate asks for it."""
    found = read_near_zero(con, view.selection, (view.check_name,))
    if found.is_empty():
        return html.Div()
    row = found.row(0, named=True)
    more = found.height - 1
    also = f" {words.plural(more, 'more crew')} likewise." if more else ""
    crew = replace(view.one_check, site_codes=(row["site"],), crew_codes=(row["crew"],))
    return html.Div(
        html.P(
            [
                near_zero_words(row, site_names(choices)) + also + " ",
                link(
                    "Records worth a look, on Crews",
                    "/crews" + format_search(crew) + "#doubts",
                ),
            ],
            className="counter",
        )
    )
