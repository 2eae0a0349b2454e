"""Every crew on every check, as a section of Crews."""

from collections.abc import Sequence
from dataclasses import replace

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.pages.common import rate_cell
from dashboard.pages.crews import read_crew_rates
from dashboard.pages.retraining import clear_entries, read_list
from dashboard.pages.sheets import sheet_column
from dashboard.parts import Cell, Column, Row, behind, section, table
from queries.judgement import ANY_CHECK, CHECK_NAMES, HEADLINE_NAMES
from queries.readers.choices import Choices

# So many rows stand in sight at once.
IN_SIGHT = 18
LONGEST_GRID = 100
# Rates from which on a cell is shaded more deeply (project default).
_STEPS = (0.03, 0.06, 0.12)
_STEPS_SAID = "3, 6 and 12\N{NARROW NO-BREAK SPACE}%"
OTHER_NAMES = tuple(name for name in CHECK_NAMES if name not in HEADLINE_NAMES)


def crew_grid(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return every crew on the headline checks and those of the retraining list.

    The other checks are folded away.
    """
    rates = read_crew_rates(con, view)
    entries = clear_entries(read_list(con, view))
    named = dict.fromkeys(row["check"] for row in entries)
    more = [name for name in named if name not in HEADLINE_NAMES]
    others = [name for name in OTHER_NAMES if name not in more]
    by_crew: dict[str, Row] = {}
    for row in rates.iter_rows(named=True):
        by_crew.setdefault(row["crew"], {"crew": row["crew"]})[row["check"]] = row

    def column(check: str) -> Column:
        def cell(row: Row) -> Cell:
            own = row.get(check)
            if own is not None and not own["judged"]:
                return replace(rate_cell(own, look=_tint(own)), text=words.DASH)
            return rate_cell(own, look=_tint(own))

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
        "Anchors with any fault, the four headline checks and those that the "
        "retraining list names; the other checks below. "
        "Non-conformance rate with nonconforming/judged beside it, by crew code; a "
        f"dash: nothing to judge. The shade deepens at {_STEPS_SAID}. "
        "\N{WHITE UP-POINTING TRIANGLE} marks an interval wholly above the rate of "
        "the other crews. Choose a cell for its anchors, a head for its order."
        + (f" {len(crews)} crews: the table scrolls." if len(crews) > IN_SIGHT else "")
        + (
            f" The first {LONGEST_GRID} crews are shown; the filters reach the "
            f"other {left_out}."
            if left_out > 0
            else ""
        ),
        grid(
            (ANY_CHECK, *HEADLINE_NAMES, *more),
            "Crews by check",
            sheet_column("crew", view.selection),
        ),
        behind(
            grid(others, "Crews by the other checks"),
            "/csv/crews" + format_search(replace(view.selection, check_names=())),
            what=f"the other {len(others)} checks by crew",
        ),
    )


def _tint(row: Row | None) -> str:
    """The depth of a cell's colour says again what its number says.

    Of anchors with any fault only where it is above the others': some fault or other
    has every crew.
    """
    if row is None or not row["judged"]:
        return "tint-none"
    if row["check"] == ANY_CHECK and row["position"] != "above":
        return "tint-0"
    return f"tint-{sum(row['rate'] >= step for step in _STEPS)}"
