"""The dashboard: one router, one filter bar, the address in charge."""

from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, html
from dash.development.base_component import Component

from dashboard import shell
from dashboard.address import View, parse_view
from dashboard.downloads import add_downloads
from dashboard.exports import add_exports
from dashboard.guard import add_headers
from dashboard.later import add_later
from dashboard.pages import LATER, PAGES
from dashboard.pages.drilling_bill import add_bill
from dashboard.parts import link, notice, page
from dashboard.sheet_downloads import add_sheets
from dashboard.uploads.routes import Writing
from dashboard.uploads.work import add_work
from queries.errors import FirmsetError
from queries.readers.choices import Choices, read_choices
from queries.readers.edition import read_edition
from queries.store import Store

HOME = "/sites"
NO_CHOICES = Choices((), (), (), None, None)
READ_ONLY = Writing()


def create_app(store: Store, writing: Writing = READ_ONLY) -> Dash:
    """Return the dashboard of one store; `.server` is its WSGI application.

    `writing`: whether readers may send files; not unless it says so.

    A store without an edition is no error: every page then says what to do.
    """
    app = Dash(
        __name__,
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
            return shell.frame(read_choices(con))
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

    Never raises for what an address says; a store without an edition gives its
    message as the page.
    """
    path = HOME if pathname.rstrip("/") == "" else pathname.rstrip("/")
    titles = {where: title for where, (title, _) in PAGES.items()}
    try:
        with store.reader() as con:
            choices = read_choices(con)
            view = parse_view(search, choices)
            navigation = shell.navigation(titles, path, view)
            if path in PAGES:
                _, render = PAGES[path]
                body = render(con, view, choices)
            else:
                body = _unknown(pathname)
            line = shell.edition_line(read_edition(con))
            problems = [*([store.warning] if store.warning else []), *view.problems]
            return [notice(problems), body], navigation, line
    except FirmsetError as error:
        return (
            [page("Nothing to show", str(error), None)],
            shell.navigation(titles, path, View()),
            "",
        )


def _unknown(pathname: str) -> html.Div:
    shown = pathname if len(pathname) <= 80 else pathname[:79] + "…"
    return page(
        "No such page",
        f"firmset has no page at {shown}.",
        None,
        html.P(link("Go to Sites", HOME)),
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
        "toggle_filters",
        Output("filters", "className"),
        Output("filter-toggle", "aria-expanded"),
        Input("filter-toggle", "n_clicks"),
        prevent_initial_call=True,
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
