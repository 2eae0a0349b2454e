"""Drilling, embedments side by side: the controls, the answer, its notes."""

from collections.abc import Mapping, Sequence

import dash_mantine_components as dmc
import duckdb
from dash import html
from dash.development.base_component import Component

from dashboard import words
from dashboard.address import View, format_search
from dashboard.drilling_asked import (
    MOST_HOLES_PER_SHIFT,
    Question,
    drilling_data,
    logged_per_shift,
    offered_of,
    read_options,
    read_question,
    typed_embedments,
)
from dashboard.drilling_options_words import (
    TRIGGER_ONLY,
    handling_words,
    shift_words,
)
from dashboard.figures.embedments import embedments_figure
from dashboard.pages.drilling_table import options_table
from dashboard.parts import csv_link, graph, key, notice, section
from dashboard.units import in_reader_units, unit_shown
from queries.readers.drilling_options import (
    OPTIONS_CAUTION,
    VIBRATION_CAUTION,
    Comparison,
)
from queries.statistics.drilling_model import DrillingModel

NEW_SITE = "A new site"
# One dot alone says nothing that the sentence does not.
FEWEST_PICTURED = 2


def options_section(
    con: duckdb.DuckDBPyConnection, view: View, names: Mapping[str, str]
) -> html.Section:
    """Return the section that compares embedments; the filters do not apply to it.

    Its answer in words is the page's (drilling.render).
    """
    data, offered = drilling_data(con), offered_of(con)
    question = read_question(view, data, offered)
    found = read_options(con, question)
    return section(
        "Embedments side by side",
        "Drilling time per good hole, lost attempts included, for the embedments "
        "that the engineer offers. From all sites, whichever are chosen above.",
        _controls(question, offered.sizes(), data.model, names, logged_per_shift(con)),
        notice(question.problems),
        html.P(words.sentence(in_reader_units(found)), className="answer")
        if isinstance(found, str)
        else html.Div(
            [_picture(found), options_table(found)], className="beside table"
        ),
        html.P(
            [html.Strong("Before you choose. "), OPTIONS_CAUTION], className="caution"
        ),
        *([] if isinstance(found, str) else _notes(found)),
        html.P(_small_print(found, question), className="says"),
        csv_link(
            "/csv/drilling-options" + format_search(view.selection, asked=view.asked),
            "embedments side by side",
        ),
    )


def _picture(found: Comparison) -> html.Div | None:
    """Return the time of each embedment over what it holds; None of a lone one."""
    rows = [row for row in found.options.to_dicts() if row["p50_min"] is not None]
    if len(rows) < FEWEST_PICTURED:
        return None
    says = "Drilling per good hole and its 80 % interval by embedment: " + "; ".join(
        f"{words.quantity(row['embedment_mm'], 'mm')} "
        f"{words.number(60 * row['p50_min'], 1)} s"
        for row in rows
    )
    return html.Div(
        [
            key(
                ("interval", "P50 and the 80 % interval"),
                ("rise", "P80"),
            ),
            graph(
                embedments_figure(rows),
                name="embedments",
                says=f"{says}.",
            ),
        ],
        className="picture",
    )


def _notes(found: Comparison) -> list[html.P]:
    """Return what is thin, derived or refused, under the table."""
    return [
        html.P(
            f"{words.quantity(row['embedment_mm'], 'mm')}: "
            f"{in_reader_units(row['note'])}.",
            className="says note",
        )
        for row in found.options.to_dicts()
        if row["note"]
    ]


def _small_print(found: Comparison | str, question: Question) -> str:
    said = [
        (
            "P50 and P80: what the mean of many holes of one crew on the site stays "
            "below with 50 and 80 % confidence; the interval holds the middle 80 %."
        ),
        TRIGGER_ONLY,
    ]
    if isinstance(found, Comparison):
        said.append(handling_words(found.handling))
    if isinstance(found, Comparison) and found.vibration_m_s2 is not None:
        said.append(
            f"{shift_words(found, is_given=question.holes_per_shift is not None)} "
            f"{VIBRATION_CAUTION}"
        )
    return " ".join(said)


def _controls(
    question: Question,
    sizes: Sequence[str],
    model: DrillingModel | None,
    names: Mapping[str, str],
    logged: float,
) -> html.Div:
    sites = model.labels.sites if model else ()
    embedments = ", ".join(words.figure(mm, "mm") for mm in question.embedments_mm)
    given = question.given
    return html.Div(
        [
            _select("size", "Size", question.anchor_size, list(sizes), given),
            dmc.TextInput(
                id={"type": "ask", "name": "embedment"},
                label=f"Embedments, {unit_shown('mm')}",
                placeholder=embedments,
                value=typed_embedments(given.get("embedment", "")),
                debounce=True,
                size="xs",
            ),
            dmc.Select(
                id={"type": "ask", "name": "at"},
                label="Site",
                placeholder=NEW_SITE,
                value=given.get("at"),
                data=[
                    {"value": code, "label": f"{names.get(code, code)} ({code})"}
                    for code in sites
                ],
                size="xs",
                searchable=True,
                clearable=True,
                clearButtonProps={"aria-label": "Clear site"},
            ),
            _select(
                "method",
                "Method",
                "The commonest",
                list(model.terms.methods) if model else [],
                given,
            ),
            _select(
                "orientation",
                "Orientation",
                "As logged",
                list(model.terms.orientations) if model else [],
                given,
            ),
            dmc.NumberInput(
                id={"type": "ask", "name": "vibration"},
                label="Vibration, m/s²",
                placeholder="not given",
                value=question.vibration_m_s2 or "",
                min=0,
                max=50,
                debounce=True,
                hideControls=True,
                size="xs",
            ),
            dmc.NumberInput(
                id={"type": "ask", "name": "shift"},
                label="Holes per shift",
                placeholder=f"{words.plain(logged)}, the logs' median",
                value=question.holes_per_shift or "",
                min=1,
                max=MOST_HOLES_PER_SHIFT,
                allowDecimal=False,
                debounce=True,
                hideControls=True,
                size="xs",
            ),
        ],
        className="filters asked",
    )


def _select(
    name: str,
    label: str,
    placeholder: str,
    values: list[str],
    given: Mapping[str, str],
) -> Component:
    field: Component = dmc.Select(
        id={"type": "ask", "name": name},
        label=label,
        placeholder=placeholder,
        value=given.get(name),
        data=[{"value": value, "label": words.method(value)} for value in values],
        size="xs",
        clearable=True,
        clearButtonProps={"aria-label": f"Clear {label.lower()}"},
    )
    return field
