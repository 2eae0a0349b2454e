"""The retraining list and what past trainings did, as sections of Crews."""

from collections.abc import Sequence
from dataclasses import replace
from threading import Lock

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.budget import BUDGETS
from dashboard.kept import kept
from dashboard.pages.common import site_names
from dashboard.pages.found_out import found_out_lead
from dashboard.pages.retraining_entries import entries_part
from dashboard.parts import (
    Cell,
    Column,
    Row,
    aria,
    behind,
    link,
    section,
    table,
)
from dashboard.retraining_words import (
    first_words,
    lead_words,
    list_words,
    quarter_words,
)
from dashboard.since import read_since
from dashboard.training_rows import result_row
from dashboard.training_words import register_words
from dashboard.unit_words import unit_lines
from queries.readers.choices import Choices
from queries.readers.retraining import RetrainingList, read_retraining
from queries.readers.training import TrainingResult, read_training_results
from queries.readers.trainings import RegisteredTraining, read_trainings
from queries.selection import Selection

# Two parts of Crews ask for the list at the same time: the second waits for the first.
_weighing = Lock()


def read_list(con: duckdb.DuckDBPyConnection, view: View) -> RetrainingList:
    """Return the list within the view's budget, over all checks; kept."""
    selection = replace(view.selection, check_names=())
    with _weighing:
        return kept(
            con,
            ("retraining", selection, view.budget),
            lambda: read_retraining(con, selection, view.budget),
        )


def clear_entries(found: RetrainingList) -> list[Row]:
    """Return the entries of a list that are clear of chance, in its order."""
    return [row for row in found.entries.to_dicts() if row["is_clear"]]


def read_trained_since(
    con: duckdb.DuckDBPyConnection, found: RetrainingList, entries: Sequence[Row]
) -> list[RegisteredTraining]:
    """Return the trainings of these entries since the evidence began."""
    pairs = {(row["crew"], row["check"]) for row in entries}
    if not pairs:
        return []
    since = read_trainings(con, Selection(from_on=found.from_on))
    return [each for each in since if (each.crew_code, each.check_name) in pairs]


HOW_LISTED = (
    "By the nonconforming anchors that retraining could spare in the next weeks: "
    "(probable rate − rate the better quarter of crews is below) × checks due. All "
    "checks are weighed, whichever is chosen above; what is not clear of chance comes "
    "last, and stands in the table only. So many as you can act on:"
)


def read_register(
    con: duckdb.DuckDBPyConnection, view: View
) -> tuple[TrainingResult, ...]:
    """Return the registered trainings on any check with their effects; kept."""
    selection = replace(view.selection, check_names=())
    return kept(
        con,
        ("trainings", selection),
        lambda: read_training_results(con, selection),
    )


def retraining_section(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return whom to retrain on what, first, on any check, within the budget."""
    found = read_list(con, view)
    rows = found.entries.to_dicts()
    clear = clear_entries(found)
    since = read_trained_since(con, found, clear)
    pairs = [(row["crew"], row["check"]) for row in clear]
    risen = read_since(con, pairs, view.selection)
    return section(
        "Whom to retrain on what, first",
        first_words(found, clear, since),
        entries_part(found, clear, view.selection, site_names(choices), risen),
        html.P(HOW_LISTED, className="says"),
        _budgets(view),
        html.P(
            " ".join(list_words(found, view.budget, site_names(choices))),
            className="says",
        ),
        behind(
            table(rows, _list_columns(), caption="Whom to retrain on what, first"),
            "/csv/retraining"
            + format_search(
                replace(view.selection, check_names=()), budget=view.budget
            ),
            what="retraining list",
        ),
    )


def retraining_lead(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Div:
    """Return whom to retrain on what, first, as the page's first lines."""
    found = read_list(con, view)
    names = site_names(choices)
    return html.Div(
        [
            *map(html.P, unit_lines(con, view.selection, names)),
            *map(html.P, lead_words(found, clear_entries(found), names)),
            *found_out_lead(con, view.selection, names),
        ]
    )


def _budgets(view: View) -> html.Nav:
    return html.Nav(
        [
            link(
                words.count(budget),
                "/crews" + format_search(view.selection, budget=budget),
                **(aria(current="true") if budget == view.budget else {}),
            )
            for budget in BUDGETS
        ],
        className="checks",
        **aria(label="Length of the retraining list"),
    )


def _list_columns() -> list[Column]:
    def spared(row: Row) -> Cell:
        low, high = row["avoidable_low"], row["avoidable_high"]
        return Cell(
            words.about(row["avoidable"]),
            small=f"{words.about(low)}{words.DASH}{words.about(high)}",
        )

    return [
        Column("Crew", lambda row: row["crew"]),
        Column("Check", lambda row: words.title(row["check"])),
        _number(
            "Nonconforming",
            lambda row: words.share(row["nonconforming"], row["judged"]),
        ),
        _number("Without an answer", lambda row: words.count(row["missing"])),
        _number("Probable rate", lambda row: words.percent(row["eb_rate"])),
        _number("Better quarter", lambda row: quarter_words(row["reachable_rate"])),
        _number("Checks due", lambda row: words.count(row["planned"])),
        _number("Could be spared", spared),
        Column("Clear of chance", lambda row: "yes" if row["is_clear"] else "no"),
        Column("Side", lambda row: row["direction"] or words.DASH),
    ]


def _number(head: str, cell: object) -> Column:
    return Column(head, cell, is_number=True)  # type: ignore[arg-type]


def trainings_section(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return every registered training on a check with what came of it."""
    results = read_register(con, view)
    rows = [result_row(result) for result in results]
    return section(
        "Whether training helped",
        "Twelve weeks before and after each registered training, beside what would be "
        "expected without it: the crew's probable rate before times the trend of the "
        "crews not trained.",
        html.Ul([html.Li(row["sentence"]) for row in rows]) if rows else None,
        html.P(" ".join(register_words(results)), className="says"),
        behind(
            table(rows, _training_columns(), caption="Trainings and their effects"),
            "/csv/trainings" + format_search(replace(view.selection, check_names=())),
            what="trainings and their effects",
        )
        if rows
        else None,
    )


def _training_columns() -> list[Column]:
    def rate(name: str) -> object:
        def cell(row: Row) -> str:
            known = row[name] is not None
            return words.percent(row[name]) if known else words.DASH

        return cell

    def difference(row: Row) -> Cell | str:
        if row["difference"] is None:
            return words.DASH
        ends = f"{words.points(row['low'])} to {words.points(row['high'])}"
        return Cell(words.points(row["difference"]), small=ends)

    return [
        Column("Crew", lambda row: row["crew_code"]),
        Column("Check", lambda row: words.title(row["check_name"])),
        Column("Trained on", lambda row: words.day(row["on"])),
        Column("Registered", lambda row: words.instant(row["registered_at"])),
        _number("Expected", rate("expected")),
        _number("Found", rate("observed")),
        _number("Points", difference),
        _number("Could see a fall of", rate("detectable_fall")),
    ]
