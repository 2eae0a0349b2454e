"""Figures are drawn unchecked: here each of them is held to what plotly knows."""

from collections.abc import Iterator
from typing import Any

import plotly.graph_objects as go
import pytest
from dash import dcc

from dashboard.app import route
from dashboard.later import render_part
from dashboard.pages import LATER, PAGES
from queries.store import Store
from tests.dashboard.components import walk

# A page of its own kind, with the cross-section.
RECORD = ("/records", "?site=NORTH&record=R1")


def figures(made: Any) -> Iterator[go.Figure]:
    """Yield the figures of a page or part."""
    for component in walk(made):
        if isinstance(component, dcc.Graph):
            yield component.figure


def all_figures(store: Store, search: str) -> list[go.Figure]:
    """Return the figures of all pages and later parts."""
    pages = [route(store, path, search)[0] for path in PAGES]
    parts = [render_part(store, LATER, name, search) for name in LATER]
    return list(figures([*pages, route(store, *RECORD)[0], *parts]))


@pytest.mark.parametrize(
    ("search", "fewest"), [("", 5), ("?sites=EAST&units=inch&check=hole_depth", 4)]
)
def test_each_figure_is_known_to_plotly_and_has_no_template(
    store: Store, search: str, fewest: int
) -> None:
    found = all_figures(store, search)
    # Sites compared, crews and sizes by week, a cross-section, and drilling where
    # holes were timed.
    assert len(found) >= fewest
    for figure in found:
        drawn = figure.to_dict()
        # Raises for a name or value that plotly does not know.
        checked = go.Figure(drawn).to_dict()
        assert checked["data"] == drawn["data"]
        assert drawn["layout"].pop("template") == {"layout": {}}
        checked["layout"].pop("template", None)
        said = {name: value for name, value in drawn["layout"].items() if value != []}
        assert checked["layout"] == said
