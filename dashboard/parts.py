"""Parts that every page is made of."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import plotly.graph_objects as go
from dash import dcc, html
from dash.development.base_component import Component

from dashboard.failing import failure_words

Child = Component | str | None
# A section, or how to make it: then its failure is said in its place.
Section = Child | Callable[[], Child]
Row = dict[str, Any]

# A chart's menu would offer to upload the chart to a cloud: there is no menu, and
# the button is switched off twice besides. Dragging stays with the page (touch).
GRAPH_CONFIG: Any = {
    "displayModeBar": False,
    "displaylogo": False,
    "showSendToCloud": False,
    "modeBarButtonsToRemove": ["sendChartToCloud"],
    "doubleClick": False,
    "scrollZoom": False,
}


@dataclass(frozen=True)
class Cell:
    """What stands in a cell: text, small print under it, and where it leads.

    `look` is a class of assets/firmset.css; `full` the text in full, where `text` is
    cut short.
    """

    text: str
    small: str = ""
    href: str = ""
    look: str = ""
    full: str = ""


@dataclass(frozen=True)
class Column:
    """One column of a table: its head, and how a row becomes a cell.

    Numbers stand to the right, prose may run over several lines, all else may not.
    """

    head: str
    cell: Callable[[Row], Cell | str]
    is_number: bool = False
    is_prose: bool = False


def aria(**states: str) -> dict[str, Any]:
    """Return ARIA attributes: aria(label="Pages") is aria-label="Pages"."""
    return {f"aria-{name}": value for name, value in states.items()}


def data(**values: str) -> dict[str, Any]:
    """Return data attributes, which assets/firmset.js reads."""
    return {f"data-{name}": value for name, value in values.items()}


def page(
    heading: str,
    lead: str | Sequence[str | Component],
    scope: str | None,
    *sections: Section,
) -> html.Div:
    """Return a page: heading, the sentences that answer, what it covers, sections.

    A lead of several lines begins with the one to act on; a component among them holds
    lines that are weighed later. A section given as a function
    leaves words in its place if it fails.
    """
    return html.Div(
        [
            html.H1(heading, tabIndex="-1"),
            _lead([lead] if isinstance(lead, str) else lead),
            html.P(scope, className="scope") if scope else None,
            *(_made(section) for section in sections),
        ],
        className="page",
    )


def _lead(lines: Sequence[str | Component]) -> html.Div:
    return html.Div(
        [html.P(line) if isinstance(line, str) else line for line in lines],
        className="lead",
    )


def _made(made: Section) -> Child:
    if not callable(made):
        return made
    try:
        return made()
    except Exception as error:  # Whatever it is: words, and the rest stands.
        return section("This part could not be made", failure_words(error))


def section(heading: str, sentence: Child | list[Child], *body: Child) -> html.Section:
    """Return a section: heading, a sentence saying what it shows, and its body."""
    return html.Section(
        [html.H2(heading), html.P(sentence, className="says"), *body],
        className="part",
    )


def graph(figure: go.Figure, *, name: str, says: str) -> html.Div:
    """Return a chart under one name for screen readers; a click follows its point.

    `name` is unique on the page. A point with an address as its customdata leads to
    the installations behind it (assets/firmset.js).
    """
    leads = any(trace.customdata is not None for trace in figure.data)
    return html.Div(
        dcc.Graph(
            id={"type": "chart", "name": name},
            figure=figure,
            config=GRAPH_CONFIG,
            responsive=True,
            style={"height": f"{figure.layout.height}px"},
        ),
        role="img",
        className="chart leads" if leads else "chart",
        **aria(label=says),
    )


def table(
    rows: Sequence[Row], columns: Sequence[Column], *, caption: str, look: str = ""
) -> html.Div:
    """Return a table that scrolls in its own box; its first column heads each row.

    `look`: classes of assets/firmset.css ("tall" scrolls under its heads).

    The cells travel as one attribute, and assets/firmset.js draws the table from it:
    the renderer's time grows with the square of the number of components, and a grid
    of 75 crews as components took minutes.
    """
    content = {
        "caption": caption,
        "heads": [column.head for column in columns],
        "looks": [_look(column) for column in columns],
        "rows": [[_content(column.cell(row)) for column in columns] for row in rows],
    }
    return html.Div(
        className=f"table-box {look}".strip(),
        role="region",
        tabIndex="0",
        **aria(label=caption),
        **data(table=json.dumps(content, ensure_ascii=False)),
    )


def _look(column: Column) -> str:
    return "number" if column.is_number else "prose" if column.is_prose else ""


def _content(cell: Cell | str) -> str | dict[str, str]:
    if isinstance(cell, str):
        return cell
    return {name: value for name, value in vars(cell).items() if value}


def counter(sentence: str | None) -> html.P | None:
    """Return the sentence beside a chart that reads otherwise than it means."""
    return html.P(sentence, className="counter") if sentence else None


def contents(entries: Sequence[tuple[str, str]]) -> html.Nav:
    """Return the short table of contents of a long page: (id of `at`, words)."""
    return html.Nav(
        [
            html.Span("On this page"),
            *(html.A(text, href=f"#{to}") for to, text in entries),
        ],
        className="contents",
        **aria(label="On this page"),
    )


def at(name: str, part: Section) -> html.Div:
    """Return a part that `contents` leads to under its name."""
    return html.Div(_made(part), id=name, className="at")


def behind(content: Component, csv: str, *, what: str, csv_what: str = "") -> html.Div:
    """Return the table behind a chart, folded away, and its CSV.

    `csv_what`: what the file holds, where that is not what the table does.
    """
    return html.Div(
        [
            html.Details([html.Summary(f"Table: {what}"), content]),
            csv_link(csv, csv_what or what),
        ],
        className="behind",
    )


def csv_link(href: str, what: str) -> html.A:
    """Return the link to a figure's numbers as a file."""
    return file_link("CSV", href, what)


def file_link(kind: str, href: str, what: str, *, named: str = "") -> html.A:
    """Return the link to a file of some kind; `named`: its name, else the server's."""
    return html.A(
        [kind, hidden(f": {what}")], href=href, download=named, className="csv"
    )


def link(text: Child | list[Child], href: str, **attributes: Any) -> html.A:
    """Return a link inside firmset; assets/firmset.js follows it without a reload."""
    return html.A(text, href=href, **attributes)


def hidden(text: str) -> html.Span:
    """Return text for screen readers only."""
    return html.Span(text, className="hidden-text")


def notice(sentences: Sequence[str]) -> Component | None:
    """Return what the address asked for and the store does not know."""
    if not sentences:
        return None
    return html.Div([html.P(text) for text in sentences], className="notice")


def key(*entries: tuple[str, str]) -> html.Ul:
    """Return the reading key of a chart: (class of the mark, its meaning)."""
    return html.Ul(
        [
            html.Li([html.Span(className=f"mark {mark}"), meaning])
            for mark, meaning in entries
        ],
        className="key",
    )


def pager(
    page_number: int, last_page: int, href: Callable[[int], str]
) -> Component | None:
    """Return links to the neighbouring pages of a long list."""
    if last_page <= 1:
        return None
    ends = [
        ("First", 1, page_number > 1),
        ("Previous", page_number - 1, page_number > 1),
        ("Next", page_number + 1, page_number < last_page),
        ("Last", last_page, page_number < last_page),
    ]
    return html.Nav(
        [
            html.Span(f"Page {page_number} of {last_page}"),
            *(link(word, href(number)) for word, number, is_there in ends if is_there),
        ],
        className="pager",
        **aria(label="Pages of the list"),
    )


def facts(pairs: Sequence[tuple[str, Child | list[Child]]]) -> html.Dl:
    """Return terms with their values."""
    return html.Dl(
        [html.Div([html.Dt(term), html.Dd(value)]) for term, value in pairs],
        className="facts",
    )
