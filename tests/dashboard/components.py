"""Read a rendered page the way a person does: its words, tables, charts and links."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import duckdb
from dash import dcc, html
from dash.development.base_component import Component

from dashboard.address import View
from dashboard.app import route
from dashboard.later import render_part
from dashboard.pages import LATER, PAGES
from queries.readers.choices import Choices
from queries.store import Store


def whole_page(
    con: duckdb.DuckDBPyConnection, path: str, view: View, choices: Choices
) -> html.Div:
    """Return a page with all its later parts, as it stands once they are weighed."""
    made = PAGES[path][1](con, view, choices)
    return _filled(made, lambda part: LATER[part](con, view, choices))


def whole_answer(store: Store, path: str, search: str) -> html.Div:
    """Return the same of an address, as a browser asks for it."""
    made, _, _ = route(store, path, search)
    return _filled(made, lambda part: render_part(store, LATER, part, search))


def _filled(page: html.Div, part: Callable[[str], Component]) -> html.Div:
    for place in list(walk(page)):
        if isinstance(getattr(place, "id", None), dict) and "part" in place.id:
            place.children = part(place.id["part"])
    return page


def walk(component: Any) -> Iterator[Any]:
    """Yield a component and everything in it, strings included."""
    if isinstance(component, list | tuple):
        for child in component:
            yield from walk(child)
        return
    yield component
    if isinstance(component, Component):
        # Not `or []`: a component without ids in it is falsy.
        children = getattr(component, "children", None)
        yield from walk([] if children is None else children)


def text(component: Any) -> str:
    """Return all words of a page, its tables included."""
    words = [part for part in walk(component) if isinstance(part, str)]
    for table in tables(component):
        words += table["heads"] + [cell for row in rows(table) for cell in row]
    return "\n".join(words)


def lead(page: Component) -> str:
    """Return the sentences on top of a page, a line each."""
    found = next(
        part
        for part in walk(page)
        if isinstance(part, html.Div) and getattr(part, "className", "") == "lead"
    )
    return "\n".join(str(line.children) for line in found.children)


def tables(component: Any) -> list[dict[str, Any]]:
    """Return the content of every table, as the browser draws it."""
    return [
        json.loads(getattr(part, "data-table"))
        for part in walk(component)
        if hasattr(part, "data-table")
    ]


def text_forms(component: Any) -> dict[str, dict[str, Any]]:
    """Return the content of every form that sends a text, by its name."""
    found = [
        json.loads(getattr(part, "data-text"))
        for part in walk(component)
        if hasattr(part, "data-text")
    ]
    return {content["name"]: content for content in found}


def table(component: Any, caption: str) -> dict[str, Any]:
    """Return the table with a caption."""
    return next(found for found in tables(component) if found["caption"] == caption)


def rows(content: dict[str, Any]) -> list[list[str]]:
    """Return the cells of a table as words, small print after the text."""
    return [[_cell(cell) for cell in row] for row in content["rows"]]


def _cell(cell: str | dict[str, str]) -> str:
    if isinstance(cell, str):
        return cell
    text = cell.get("full") or cell["text"]
    return " ".join(filter(None, [text, cell.get("small")]))


def graphs(component: Any) -> list[Any]:
    """Return the charts of a page."""
    return [part for part in walk(component) if isinstance(part, dcc.Graph)]


def hrefs(component: Any) -> list[str]:
    """Return where all links of a page lead, those in tables included."""
    links = [
        str(getattr(part, "href", ""))
        for part in walk(component)
        if isinstance(part, html.A)
    ]
    for content in tables(component):
        links += [
            cell["href"]
            for row in content["rows"]
            for cell in row
            if isinstance(cell, dict) and "href" in cell
        ]
    return links
