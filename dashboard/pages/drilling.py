"""Drilling: what a hole of a size and depth costs in drilling time."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import duckdb
import polars as pl
from dash import html

from dashboard import sentences, words
from dashboard.address import View, format_search
from dashboard.counter_headline import drilling_counter
from dashboard.drilling_asked import (
    Question,
    drilling_data,
    offered_of,
    read_options,
    read_question,
)
from dashboard.drilling_options_words import (
    options_lead,
    place_words,
)
from dashboard.kept import drawn, kept
from dashboard.later import later
from dashboard.life_table import add_lost
from dashboard.pages.common import count_column, site_names
from dashboard.pages.drilling_bill import bill_section
from dashboard.pages.drilling_depths import depths_section
from dashboard.pages.drilling_model import model_section, times_section
from dashboard.pages.drilling_options import options_section
from dashboard.parts import (
    Cell,
    Column,
    Row,
    at,
    contents,
    csv_link,
    page,
    section,
    table,
)
from dashboard.units import in_reader_units, unit_shown
from queries.readers.choices import Choices
from queries.readers.drilling import (
    read_drilling_depths,
    read_drilling_summary,
)
from queries.readers.drilling_options import Comparison
from queries.readers.drilling_support import read_bands
from queries.selection import Selection

_CONTENTS = (
    ("embedments", "Embedments side by side"),
    ("list", "Hours for a list of anchors"),
    ("per-hole", "Time per good hole"),
    ("depths", "Seconds against depth"),
    ("times", "Which times are used"),
    ("model", "What decides the time"),
)
_PER_HOLE = (
    "All timed seconds, those of abandoned attempts included, per timed hole that "
    "was kept. The median of single attempts (P50) is lower wherever holes are "
    "abandoned. Trigger time only: moving and marking are in no log, and cleaning "
    "and setting stand apart where some site logs them."
)


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page of one selection.

    What its filters change follows: at ten million attempts they take a second to
    count, and the question about embedments is answered without them.
    """
    names = site_names(choices)
    data = drilling_data(con)
    question = read_question(view, data, offered_of(con))
    return page(
        "Drilling",
        _lead(con, view, question, names),
        "The filters change the time per good hole and the charts; of what is asked "
        "they give only the size, where they leave one: "
        + words.scope(view.selection, choices.first_on, choices.last_on, names),
        contents(_CONTENTS),
        at("embedments", lambda: options_section(con, view, names)),
        at("list", bill_section(place_words(question.site_code, names))),
        at("per-hole", later(con, "time per hole", view)),
        at("depths", later(con, "drilling depths", view)),
        at("times", lambda: times_section(data, names)),
        at(
            "model",
            lambda: drawn(con, "drilling model", lambda: model_section(data, names)),
        ),
    )


def _lead(
    con: duckdb.DuckDBPyConnection,
    view: View,
    question: Question,
    names: Mapping[str, str],
) -> list[str]:
    """Return what the page answers about embedments, or why not and what logs say."""
    found = read_options(con, question)
    if isinstance(found, Comparison):
        return options_lead(found, place_words(question.site_code, names))
    # Where nothing can be foretold the page still says what its logs do.
    logged = sentences.drilling(_summary(con, view))
    is_asked = "embedment" in question.given
    return [words.sentence(in_reader_units(found)), logged] if is_asked else [logged]


def per_hole_section(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return what a good hole of each size takes."""
    summary = _summary(con, view)
    question = read_question(view, drilling_data(con), offered_of(con))
    leads = not isinstance(read_options(con, question), Comparison)
    return _cost(summary, view, "" if leads else sentences.drilling(summary))


def depths_part(con: duckdb.DuckDBPyConnection, view: View, _: Choices) -> html.Section:
    """Return the time against the depth, a panel a size.

    Drawn once a selection: another question about embedments does not change it.
    """
    data = drilling_data(con)
    bands = kept(con, "drilling bands", lambda: read_bands(data, offered_of(con)))
    return drawn(
        con,
        ("drilling depths", _attempts(view)),
        lambda: depths_section(
            _depth_counts(con, view),
            bands,
            view,
            has_model=data.model is not None,
            against=drilling_counter(_summary(con, view)),
        ),
    )


def _attempts(view: View) -> Selection:
    """Return what is asked of drilling: no check changes what was drilled."""
    return replace(view.selection, check_names=())


def _summary(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    attempts = _attempts(view)
    return kept(
        con,
        ("drilling summary", attempts),
        lambda: read_drilling_summary(con, attempts),
    )


def _depth_counts(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    attempts = _attempts(view)
    return kept(
        con,
        ("drilling depth counts", attempts),
        lambda: add_lost(read_drilling_depths(con, attempts)),
    )


def _cost(summary: pl.DataFrame, view: View, said: str) -> html.Section:
    """Return the table by size; `said`: its sentence, where it is not the page's."""

    def measure(head: str, name: str) -> Column:
        return Column(head, lambda row: words.number(row[name]), is_number=True)

    return section(
        "Time per good hole",
        said or _PER_HOLE,
        html.P(_PER_HOLE, className="says") if said else None,
        table(
            summary.to_dicts(),
            [
                Column("Size", lambda row: row["anchor_size"]),
                Column("Method", lambda row: words.method(row["drill_method"])),
                measure("Time per good hole, s", "s_per_good_hole"),
                measure("P50, s", "p50_s"),
                measure("P80, s", "p80_s"),
                Column(
                    f"Median depth, {unit_shown('mm')}",
                    lambda row: words.number(row["median_depth_mm"], unit="mm"),
                    is_number=True,
                ),
                count_column("Attempts", "attempts"),
                count_column("Abandoned", "abandoned"),
                Column(
                    "Abandoned, %",
                    lambda row: words.percent(row["abandoned_rate"]),
                    is_number=True,
                ),
                count_column("Timed", "timed_attempts"),
                count_column("Untimed", "untimed_attempts"),
                *(
                    Column(f"{step.capitalize()}, s", _handled(step), is_number=True)
                    for step in ("cleaning", "setting")
                    if summary[f"{step}_timed"].sum()
                ),
            ],
            caption="Drilling by size and method",
        ),
        csv_link("/csv/drilling" + format_search(view.selection), "drilling by size"),
    )


def _handled(step: str) -> Callable[[Row], Cell]:
    """Return how a cell shows the mean seconds of a step, and of how many anchors."""

    def cell(row: Row) -> Cell:
        if not row[f"{step}_timed"]:
            return Cell(words.DASH)
        return Cell(
            words.number(row[f"{step}_s"]),
            small=f"of {words.count(row[f'{step}_timed'])}",
        )

    return cell
