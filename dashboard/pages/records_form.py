"""The search form of Records: what the filter bar does not ask."""

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from dashboard.parts import aria
from dashboard.records_asked import ANY, RecordsQuestion
from dashboard.records_words import ORDER_TITLES, shown_check
from queries.judgement import VERDICTS
from queries.readers.record_page import ORDERS
from queries.readers.record_search import OUTCOMES_ASKED


def search_form(question: RecordsQuestion) -> html.Div:
    """Return the controls; each writes the address (`ask` of assets/firmset.js)."""
    search = question.search
    verdict = search.verdict or ANY
    return html.Div(
        [
            _select(
                "verdict",
                f"Verdict · {shown_check(search)}",
                {name: name for name in (*VERDICTS, ANY)},
                question.default_verdict,
                verdict,
            ),
            _select(
                "outcome",
                "Outcome",
                {name: name for name in OUTCOMES_ASKED},
                "all",
                search.outcome,
            ),
            _text(
                "id", "Record number, in full", "as its site wrote it", search.record_id
            ),
            _text("begins", "Number begins with", "beginning", search.begins),
            _text("wrench", "Torque wrench", "its code", search.wrench_code),
            _select(
                "order",
                "Order",
                {name: ORDER_TITLES[name] for name in ORDERS},
                ORDER_TITLES[ORDERS[0]],
                question.order,
            ),
        ],
        className="filters asked search",
        role="search",
        **aria(label="Search among the records"),
    )


def _select(
    name: str, label: str, titles: dict[str, str], default: str, value: str | None
) -> Component:
    """Return a choice; the default is what an empty one stands for."""
    is_default = value is None or titles[value] == default
    field: Component = dmc.Select(
        id={"type": "ask", "name": name},
        label=label,
        placeholder=default,
        value=None if is_default else value,
        data=[{"value": key, "label": title} for key, title in titles.items()],
        size="xs",
        clearable=True,
        clearButtonProps={"aria-label": f"Clear {name}"},
    )
    return field


def _text(name: str, label: str, placeholder: str, value: str | None) -> Component:
    field: Component = dmc.TextInput(
        id={"type": "ask", "name": name},
        label=label,
        placeholder=placeholder,
        value=value or "",
        debounce=True,
        size="xs",
    )
    return field
