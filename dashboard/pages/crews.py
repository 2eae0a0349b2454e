"""Crews: which crew drifts on which step, and since when."""

from collections.abc import Sequence
from dataclasses import replace

import duckdb
import polars as pl
from dash import html

from dashboard import sentences, words
from dashboard.address import View, format_search, records_href
from dashboard.compared import add_others
from dashboard.comparison_words import found_words
from dashboard.counter_headline import comparison_counter
from dashboard.kept import kept
from dashboard.later import later
from dashboard.pages.common import rate_cell, site_names
from dashboard.pages.compared_groups import compared_section
from dashboard.pages.sheets import sheet_column
from dashboard.pages.trends import crew_trends, size_trends
from dashboard.parts import (
    Cell,
    Column,
    Row,
    at,
    behind,
    contents,
    page,
    section,
    table,
)
from queries.judgement import ANY_CHECK, CHECK_NAMES, HEADLINE_NAMES, RATE_NAMES
from queries.readers.choices import Choices
from queries.readers.comparison import read_comparison
from queries.readers.rates import read_rates

LONGEST_GRID = 100
OTHER_NAMES = tuple(name for name in CHECK_NAMES if name not in HEADLINE_NAMES)


_CONTENTS = (
    ("grid", "Every crew on every check"),
    ("retraining", "Whom to retrain on what, first"),
    ("trainings", "Whether training helped"),
    ("crew-trends", "Crews week by week"),
    ("size-trends", "Sizes week by week"),
    ("changed", "What changed since last month"),
    ("mix", "Each crew for its own mix"),
    ("inspectors", "A crew, or its inspector?"),
    ("doubts", "Records worth a look"),
)


def render(con: duckdb.DuckDBPyConnection, view: View, choices: Choices) -> html.Div:
    """Return the page of one selection."""
    rates = read_crew_rates(con, view)
    shown = rates.filter(pl.col("check") == view.check_name)
    weighed = kept(
        con,
        ("crew comparison", view.one_check),
        lambda: read_comparison(con, "crew", view.check_name, view.selection),
    )
    return page(
        "Crews",
        sentences.compare_groups(
            shown,
            label="crew",
            group="crew",
            weighed=found_words(weighed, "crew"),
        ),
        words.scope(
            view.selection, choices.first_on, choices.last_on, site_names(choices)
        ),
        contents(_CONTENTS),
        at("grid", _grid(rates, view)),
        at("retraining", later("retraining", view)),
        at("trainings", later("trainings", view)),
        # Drawing two dozen panels takes longer than all that is counted above.
        at("crew-trends", later("crew trends", view)),
        at("size-trends", later("size trends", view)),
        at("changed", later("crew changes", view)),
        at(
            "mix",
            compared_section(
                weighed,
                view,
                "crew",
                against=comparison_counter(
                    shown.to_dicts(), weighed.groups.to_dicts(), "crew"
                ),
            ),
        ),
        later("crew calibration", view),
        at("inspectors", later("crossed crews", view)),
        at("doubts", later("doubts", view)),
    )


def crew_trends_part(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return a panel a crew over time."""
    rates = read_crew_rates(con, view)
    shown = rates.filter(pl.col("check") == view.check_name)
    return crew_trends(con, view, shown)


def size_trends_part(
    con: duckdb.DuckDBPyConnection, view: View, _: Choices
) -> html.Section:
    """Return a panel an anchor size over time."""
    return size_trends(con, view)


def read_crew_rates(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    """Return the selected crews' rates of all checks, each beside all other crews."""
    all_crews = replace(view.selection, crew_codes=(), check_names=RATE_NAMES)
    rates = add_others(read_rates(con, ["crew"], all_crews), "crew")
    chosen = view.selection.crew_codes
    if chosen:
        rates = rates.filter(pl.col("crew").is_in(list(chosen)))
    hrefs = [
        records_href(replace(view.selection, crew_codes=(crew,), check_names=(check,)))
        for crew, check in rates.select("crew", "check").iter_rows()
    ]
    return rates.with_columns(pl.Series("href", hrefs, dtype=pl.String))


def _grid(rates: pl.DataFrame, view: View) -> html.Section:
    by_crew: dict[str, Row] = {}
    for row in rates.iter_rows(named=True):
        by_crew.setdefault(row["crew"], {"crew": row["crew"]})[row["check"]] = row

    def column(check: str) -> Column:
        def cell(row: Row) -> Cell:
            return rate_cell(row.get(check), look=_tint(row.get(check)))

        return Column(words.title(check), cell, is_number=True)

    def grid(checks: Sequence[str], caption: str, *more: Column) -> html.Div:
        return table(
            crews[:LONGEST_GRID],
            [Column("Crew", lambda row: row["crew"]), *map(column, checks), *more],
            caption=caption,
            look="tall compact",
        )

    crews = list(by_crew.values())
    left_out = len(crews) - LONGEST_GRID
    return section(
        "Every crew on every check",
        "The four headline checks and anchors with any fault; the other checks below. "
        "Non-conformance rate with nonconforming/judged beside it, by crew code. "
        "\N{WHITE UP-POINTING TRIANGLE} marks an interval wholly above the rate of "
        "the other crews. Choose a cell for its anchors."
        + (
            f" The first {LONGEST_GRID} crews are shown; the filters reach the "
            f"other {left_out}."
            if left_out > 0
            else ""
        ),
        grid(
            (*HEADLINE_NAMES, ANY_CHECK),
            "Crews by check",
            sheet_column("crew", view.selection),
        ),
        behind(
            grid(OTHER_NAMES, "Crews by the other checks"),
            "/csv/crews" + format_search(replace(view.selection, check_names=())),
            what=f"the other {len(OTHER_NAMES)} checks by crew",
        ),
    )


def _tint(row: Row | None) -> str:
    """The depth of a cell's colour says again what its number says."""
    if row is None or not row["judged"]:
        return "tint-none"
    steps = (0.03, 0.06, 0.12)
    return f"tint-{sum(row['rate'] >= step for step in steps)}"
