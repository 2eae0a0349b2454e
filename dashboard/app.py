"""The dashboard: one router, one filter bar, the address in charge."""

from collections.abc import Sequence
from typing import Any

import duckdb
from dash import ALL, ClientsideFunction, Dash, Input, Output, State, html
from dash.development.base_component import Component

from dashboard import shell
from dashboard.address import View, format_search, parse_view
from dashboard.admission import Server, add_admission, add_known_questions
from dashboard.answers import add_answers
from dashboard.downloads import add_downloads
from dashboard.exports import add_exports
from dashboard.failing import failure_words
from dashboard.guard import add_headers
from dashboard.kept import read_kept_choices
from dashboard.later import add_later
from dashboard.pages import LATER, PAGES
from dashboard.pages.drilling_bill import add_bill
from dashboard.pages.first_steps import first_steps, held_settings
from dashboard.parts import link, notice, page
from dashboard.requested import requested_wish
from dashboard.sheet_downloads import add_sheets
from dashboard.standing import not_kept, standing_line
from dashboard.uploads.routes import MAPS, UPLOADS, Writing
from dashboard.uploads.work import add_work
from dashboard.wish import wish, wishing
from queries.errors import FirmsetError
from queries.pinned import EditionNotKept
from queries.readers.choices import Choices
from queries.readers.edition import read_edition
from queries.store import NoEdition, Store

HOME = "/sites"
# Without any log there are no figures on them.
OF_LOGS = ("/sites", "/crews", "/drilling", "/records")
TITLES = {where: title for where, (title, _) in PAGES.items()}
NO_CHOICES = Choices((), (), (), None, None)
READ_ONLY = Writing()
LARGE_AT = (UPLOADS, MAPS)


def create_app(
    store: Store, writing: Writing = READ_ONLY, names: Sequence[str] | None = None
) -> Dash:
    """Return the dashboard of one store; `.server` is its WSGI application.

    `writing`: whether readers may send files; not unless it says so. `names`: the only
    ones under which it answers, beside its addresses; None is any.

    A store without an edition is no error: every page then says what to do.
    """
    server: Any = Server(__name__)
    add_admission(server, names, LARGE_AT)
    add_answers(server, store)
    app = Dash(
        __name__,
        server=server,
        title="firmset",
        update_title="",
        suppress_callback_exceptions=True,
        serve_locally=True,
        compress=True,
        health_endpoint="healthz",
        enable_mcp=False,
        meta_tags=[
            {"name": "viewport", "content": "width=device-width, initial-scale=1"},
            {"name": "color-scheme", "content": "light dark"},
        ],
    )
    add_known_questions(app)
    app.index_string = app.index_string.replace("<html>", '<html lang="en">')
    app.layout = lambda: _layout(store)
    _add_router(app, store)
    add_later(app, store, LATER)
    _add_clientside(app)
    add_bill(app, store)
    add_work(app, store, writing)
    add_downloads(app.server, store)
    add_exports(app.server, store)
    add_sheets(app.server, store)
    add_headers(app)
    return app


def _layout(store: Store) -> Component:
    try:
        with store.reader() as con:
            return shell.frame(read_kept_choices(con))
    except FirmsetError:
        return shell.frame(NO_CHOICES)


def _add_router(app: Dash, store: Store) -> None:
    # The page waits for the sync below: the address it renders is settled.
    @app.callback(
        Output("page", "children"),
        Output("navigation", "children"),
        Output("edition", "children"),
        Input("address", "pathname"),
        Input("address", "search"),
    )
    def show(pathname: str | None, search: str | None) -> tuple[Any, Any, str]:
        return route(store, pathname or "/", search or "")


def route(
    store: Store, pathname: str, search: str
) -> tuple[list[Component | None], list[Component], str]:
    """Return the page at an address, the navigation, and the edition's line.

    Never raises: a store without an edition, or without the pinned one, gives its
    message as the page, and so does whatever fails.
    """
    path = HOME if pathname.rstrip("/") == "" else pathname.rstrip("/")
    with wishing(requested_wish(search)) as wanted:
        try:
            with store.reader(wanted.edition_id) as con:
                return _answer(con, store, path, search)
        except NoEdition:
            said = first_steps(store, parse_view(search, NO_CHOICES))
        except EditionNotKept as error:
            newest = store.current_edition_id()
            said = not_kept(str(error), newest, path, search)
        except Exception as error:  # Whatever it is: words, and the rest stands.
            said = page("Nothing to show", failure_words(error), None)
        return [said], shell.navigation(TITLES, path, View()), ""


def _answer(
    con: duckdb.DuckDBPyConnection, store: Store, path: str, search: str
) -> tuple[list[Component | None], list[Component], str]:
    choices = read_kept_choices(con)
    view = parse_view(search, choices)
    edition = read_edition(con)
    pinned = wish().edition_id
    problems = [*wish().problems, *view.problems]
    if store.warning and pinned is None:
        problems.insert(0, store.warning)
    newest = store.current_edition_id()
    render = PAGES[path][1] if path in PAGES else None
    if path in OF_LOGS and choices.first_on is None:
        body = first_steps(store, view, held_settings(con))
    else:
        body = render(con, view, choices) if render else _unknown(path)
    return (
        [standing_line(edition, newest, path, search), notice(problems), body],
        shell.navigation(TITLES, path, view),
        shell.edition_line(edition),
    )


def _unknown(pathname: str) -> html.Div:
    shown = pathname if len(pathname) <= 80 else pathname[:79] + "…"
    return page(
        "No such page",
        f"firmset has no page at {shown}.",
        None,
        html.P(link("Go to Sites", HOME + format_search())),
    )


def _add_clientside(app: Dash) -> None:
    filters = shell.FILTER_IDS
    _in_browser(
        app,
        "sync",
        Output("address", "search"),
        *(Output(name, "value") for name in filters),
        Input("address", "search"),
        *(Input(name, "value") for name in filters),
        State("known", "data"),
    )
    _in_browser(
        app,
        "apply",
        *(Output(name, "disabled") for name in filters),
        Output("filter-check", "placeholder"),
        Input("address", "pathname"),
        State("applies", "data"),
    )
    _in_browser(
        app,
        "toggle_filters",
        Output("filters", "className"),
        Output("filter-toggle", "aria-expanded"),
        Input("filter-toggle", "n_clicks"),
        prevent_initial_call=True,
    )
    _in_browser(
        app,
        "name_filters",
        Output("filter-toggle", "children"),
        Input("address", "search"),
        State("known", "data"),
    )
    _in_browser(
        app,
        "ask",
        Output("address", "search", allow_duplicate=True),
        Input({"type": "ask", "name": ALL}, "value"),
        State({"type": "ask", "name": ALL}, "id"),
        State("address", "search"),
        prevent_initial_call=True,
    )
    _in_browser(
        app,
        "open_point",
        Input({"type": "chart", "name": ALL}, "clickData"),
        prevent_initial_call=True,
    )
    _in_browser(
        app,
        "announce",
        Output("said", "children"),
        Input("page", "children"),
        State("address", "pathname"),
    )


def _in_browser(app: Dash, name: str, *arguments: Any, **options: Any) -> None:
    """Let a function of assets/firmset.js answer a callback."""
    function = ClientsideFunction("firmset", name)
    add: Any = app.clientside_callback
    add(function, *arguments, **options)
