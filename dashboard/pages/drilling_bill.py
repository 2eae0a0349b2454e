"""Drilling, hours for a list of anchors: an upload that no store keeps.

The window keeps it, so that the answer follows what is chosen above.
"""

import base64
import binascii
from collections.abc import Mapping
from pathlib import PurePath
from typing import Any

import duckdb
from dash import Dash, Input, Output, State, dcc, html, no_update
from dash.development.base_component import Component

from dashboard import words
from dashboard.address import parse_view
from dashboard.bill import LARGEST_BYTES, parse_bill
from dashboard.drilling_asked import drilling_data, offered_of, read_question
from dashboard.drilling_options_words import (
    TRIGGER_ONLY,
    adds_up,
    bill_words,
    place_words,
)
from dashboard.failing import failure_words
from dashboard.parts import Column, file_link, notice, section, table
from dashboard.requested import requested_wish
from dashboard.spreadsheet import csv_text
from dashboard.units import in_reader_units, unit_shown
from dashboard.wish import wishing
from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.readers.drilling_bill import Bill, weigh_bill
from queries.readers.drilling_options import need_model
from queries.store import Store

SHORT_H = 0.1


def bill_section(place: str) -> html.Section:
    """Return the section with the upload; `place`: the site chosen above, in words."""
    return section(
        "Hours for a list of anchors",
        "A CSV, or the first sheet of a workbook, with the columns size, embedment "
        '(in mm, or with its unit as 2 3/8"), count and, where known, method and '
        f"orientation. Its holes are drilled on {place} by one crew, as chosen above. "
        "Nothing in the store changes; this window keeps the list until it is closed.",
        # assets/firmset.js gives the file input that the upload hides its name.
        dcc.Upload(
            html.Button(
                "Choose a list (CSV or .xlsx)", type="button", className="choose"
            ),
            id="bill",
            accept=".csv,.xlsx",
            max_size=LARGEST_BYTES,
            className="upload",
        ),
        html.Div(id="bill-hours", role="status"),
    )


def add_bill(app: Dash, store: Store) -> None:
    """Answer an uploaded list with its hours, anew whenever the page is made anew."""

    @app.callback(
        Output("bill-hours", "children"),
        Output("bill-list", "data"),
        Input("bill", "contents"),
        State("bill", "filename"),
        State("bill-list", "data"),
        State("address", "search"),
    )
    def answer(
        contents: str | None,
        filename: str | None,
        held: dict[str, str] | None,
        search: str | None,
    ) -> tuple[Component | None, Any]:
        chosen = {"contents": contents, "name": filename} if contents else held
        if not chosen or not chosen["contents"]:
            return None, no_update
        name = chosen["name"] or "the list"
        answered = bill_answer(store, chosen["contents"], name, search or "")
        return answered, chosen if contents else no_update


def bill_answer(
    store: Store, contents: str, filename: str, search: str
) -> Component | None:
    """Return the hours of an uploaded list, or every fault of it in words.

    `contents` is a data URL, base64, as browsers give a file; untrusted.
    """
    name = filename if len(filename) <= 80 else filename[:79] + "…"
    try:
        with (
            wishing(requested_wish(search)) as wanted,
            store.reader(wanted.edition_id) as con,
        ):
            return _hours(con, _decoded(contents, name), name, search)
    except FirmsetError as error:
        first, *others = str(error).split(f"; {name}")
        return notice([first, *(name + other for other in others)])
    except Exception as error:  # Whatever it is: words, and the rest stands.
        return notice([failure_words(error)])


def _decoded(contents: str, name: str) -> bytes:
    _, _, encoded = contents.partition("base64,")
    if len(encoded) > 4 * LARGEST_BYTES // 3 + 4:
        raise FirmsetError(f"{name}: expected {LARGEST_BYTES} bytes at most")
    try:
        return base64.b64decode(encoded, validate=True)
    except binascii.Error as error:
        raise FirmsetError(f"{name}: did not arrive whole; expected a CSV") from error


def _hours(
    con: duckdb.DuckDBPyConnection, content: bytes, name: str, search: str
) -> html.Div:
    data, offered = drilling_data(con), offered_of(con)
    choices = read_choices(con)
    question = read_question(parse_view(search, choices), data, offered)
    terms = need_model(data).terms
    known: Mapping[str, list[str]] = {
        "size": offered.sizes(),
        "method": list(terms.methods),
        "orientation": list(terms.orientations),
    }
    lines = parse_bill(content, name, known)
    bill = weigh_bill(data, offered, lines, name=name, site_code=question.site_code)
    place = place_words(question.site_code, dict(choices.sites))
    return html.Div(
        [
            html.P(
                [html.Strong(f"{name}. "), bill_words(bill, place)], className="answer"
            ),
            _table(bill),
            _lines_link(bill, name),
            html.P(TRIGGER_ONLY, className="says"),
        ]
    )


def _lines_link(bill: Bill, name: str) -> html.A:
    """Return the link to the lines as a CSV, which travels in the link itself."""
    lines = base64.b64encode(csv_text(bill.lines).encode()).decode()
    return file_link(
        "CSV",
        f"data:text/csv;charset=utf-8;base64,{lines}",
        "hours by line",
        named=f"hours for {PurePath(name).stem}.csv",
    )


def _table(bill: Bill) -> html.Div:
    # One hole takes seconds: two decimals of an hour would be none.
    is_short = float(bill.lines["p50_h"].to_numpy().min()) < SHORT_H
    decimals = 3 if is_short else 2

    def number(head: str, name: str, decimals: int) -> Column:
        return Column(
            head, lambda row: words.number(row[name], decimals), is_number=True
        )

    handling = (number("Cleaning, setting, hours", "handling_h", decimals),)
    return table(
        bill.lines.to_dicts(),
        [
            Column("Row", lambda row: str(row["row"]), is_number=True),
            Column("Size", lambda row: row["anchor_size"]),
            Column(
                f"Embedment, {unit_shown('mm')}",
                lambda row: words.figure(row["embedment_mm"], "mm"),
                is_number=True,
            ),
            Column("Method", lambda row: words.method(row["drill_method"])),
            Column("Orientation", lambda row: row["orientation"]),
            Column("Count", lambda row: words.count(row["count"]), is_number=True),
            number("Min per good hole", "min_per_hole", 2),
            number("Hours, P50", "p50_h", decimals),
            number("Hours, P80", "p80_h", decimals),
            *(handling if bill.handled else ()),
            Column("Note", lambda row: in_reader_units(row["note"]), is_prose=True),
        ],
        caption="Hours by line"
        + ("" if adds_up(bill) else "; their P80 do not add up to the list's"),
    )
