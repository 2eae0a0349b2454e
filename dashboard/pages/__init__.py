"""The pages, in the order of the navigation. Each has render(con, view, choices)."""

from collections.abc import Callable, Mapping

import duckdb
from dash import html

from dashboard.address import View
from dashboard.pages import crews, drilling, intake, method, records, sites
from queries.readers.choices import Choices

Render = Callable[[duckdb.DuckDBPyConnection, View, Choices], html.Div]

PAGES: Mapping[str, tuple[str, Render]] = {
    "/sites": ("Sites", sites.render),
    "/crews": ("Crews", crews.render),
    "/drilling": ("Drilling", drilling.render),
    "/records": ("Records", records.render),
    "/intake": ("Intake", intake.render),
    "/method": ("Method", method.render),
}
