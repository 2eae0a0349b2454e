"""Parts of a page that are weighed after it is shown, so that it need not wait."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace

import duckdb
from dash import MATCH, Dash, Input, Output, State, html
from dash.development.base_component import Component

from dashboard.address import DEFAULT_CHECK, View, parse_view
from dashboard.failing import failure_words
from dashboard.kept import read_kept_choices
from dashboard.parts import aria
from dashboard.requested import requested_wish
from dashboard.wish import asked_wish, wish, wishing
from queries.judgement import RATE_NAMES
from queries.pinned import EditionNotKept
from queries.readers.choices import Choices
from queries.readers.edition import read_edition
from queries.store import Store

# Where a part stands, of which view, and the check and edition that its page shows.
PLACE = {
    "type": "later",
    "part": MATCH,
    "view": MATCH,
    "check": MATCH,
    "edition": MATCH,
}
OVERTAKEN = (
    "The edition that this page shows is not kept any more: load the page again."
)

Render = Callable[[duckdb.DuckDBPyConnection, View, Choices], Component]


def later(con: duckdb.DuckDBPyConnection, part: str, view: View) -> html.Div:
    """Return the place of a part; another view is another place, and asks anew.

    It names the edition that `con` reads: a page is of one, whatever is published
    before its last part is asked for.
    """
    told = hashlib.sha256(repr((wish(), view)).encode()).hexdigest()[:16]
    return html.Div(
        html.P("Being weighed …", className="says"),
        id={
            "type": "later",
            "part": part,
            "view": told,
            "check": view.check_name,
            "edition": str(read_edition(con).edition_id),
        },
        **aria(live="polite"),
    )


def add_later(app: Dash, store: Store, parts: Mapping[str, Render]) -> None:
    """Fill each place once it is on the page."""

    @app.callback(
        Output(PLACE, "children"),
        Input(PLACE, "id"),
        State("address", "search"),
    )
    def fill(place: dict[str, str], search: str | None) -> Component:
        part, check = str(place.get("part")), str(place.get("check"))
        # No more is believed of it than of an address.
        wanted = asked_wish(f"edition={place.get('edition')}")
        return render_part(store, parts, part, search or "", check, wanted.edition_id)


def render_part(
    store: Store,
    parts: Mapping[str, Render],
    part: str,
    search: str,
    check_name: str = DEFAULT_CHECK,
    edition_id: int | None = None,
) -> Component:
    """Return a part of the page at an address; never raises for what it says.

    `check_name`, `edition_id`: what the page shows where the address has none; None is
    the newest edition.
    """
    render = parts.get(part)
    if render is None:
        return html.P("No such part.", className="says")
    try:
        with (
            wishing(requested_wish(search)) as wanted,
            store.reader(wanted.edition_id or edition_id) as con,
        ):
            choices = read_kept_choices(con)
            view = parse_view(search, choices)
            if check_name in RATE_NAMES:
                view = replace(view, default_check=check_name)
            return render(con, view, choices)
    except EditionNotKept as error:
        said = failure_words(error)
        if requested_wish(search).edition_id is None:
            said = OVERTAKEN
        return html.P(said, className="says")
    except Exception as error:  # Whatever it is: words, and the rest stands.
        return html.P(failure_words(error), className="says")
