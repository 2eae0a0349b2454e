"""What a store without any log shows instead of figures: how to begin."""

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View
from dashboard.parts import at, page
from dashboard.uploads.routes import SHEETS
from dashboard.uploads.work import work_place
from queries.store import Store

HEADING = "Begin"


LEDGER = (
    "There is a ledger, of which no edition is published: what it holds is shown after "
    "the next load."
)


def first_steps(store: Store, view: View, settings: int | None = None) -> html.Div:
    """Return the page of a store whose edition has so many setting data; None: none."""
    folder = store.folder
    unpublished = settings is None and store.ledger_path.exists()
    return page(
        HEADING,
        f"No site's log has been loaded into {folder} yet."
        if not unpublished
        else [f"Nothing is published in {folder}.", LEDGER],
        None,
        html.Ol(
            [
                html.Li(_setting_data(settings or 0)),
                html.Li(_log()),
                html.Li(
                    "The log is tried first: you see what would become of every row, "
                    "and nothing is written until you have it loaded."
                ),
            ]
        ),
        html.P(
            f"In the terminal, firmset load PATH --store {folder} does the same.",
            className="says",
        ),
        at("send", work_place(view)),
    )


def _setting_data(held: int) -> list[str | html.A]:
    if held:
        are = "is" if held == 1 else "are"
        return [f"{words.plural(held, 'row')} of setting data {are} loaded already."]
    whence = "a row for each anchor at each embedment, from its published instructions"
    return [
        "Setting data: fill in the empty sheet ",
        html.A("setting_data.xlsx", href=f"{SHEETS}/setting_data.xlsx", download=""),
        " (",
        html.A("CSV", href=f"{SHEETS}/setting_data.csv", download=""),
        f"), {whence}, and send it.",
    ]


def _log() -> list[str | html.A]:
    begun = "A site's log, as the site keeps it (where it keeps none, begin the empty "
    sent = (
        "): send it, and its site map is drafted from its headers and values. Read "
        "every line of the draft, answer what it asks, and keep it."
    )
    return [begun, html.A("log.xlsx", href=f"{SHEETS}/log.xlsx", download=""), sent]


def held_settings(con: duckdb.DuckDBPyConnection) -> int:
    """Return how many rows of setting data an edition holds."""
    [(count,)] = con.execute("select count(*) from setting_data").fetchall()
    return int(count)
