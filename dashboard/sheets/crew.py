"""The sheet of one crew, fit to be handed to its foreman."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import duckdb

from dashboard import words
from dashboard.in_common import in_common_words
from dashboard.kept import kept
from dashboard.near_zero import near_zero_words, read_near_zero
from dashboard.sheets.content import Part
from dashboard.sheets.figures import CheckFigures, lower_list
from dashboard.sheets.foreman import foreman_words
from dashboard.since import read_since
from dashboard.training_words import counted_words, verdict_words
from queries.judgement import CHECK_NAMES, HEADLINE_NAMES
from queries.readers.choices import read_choices
from queries.readers.crossed import CrossedCrews, read_crossed
from queries.readers.retraining import RetrainingList, read_retraining
from queries.readers.training import TrainingResult, read_training_results
from queries.selection import Selection
from queries.statistics.flagging import FLAGGED_AT

# All are weighed; so many of those clear of chance stand on the sheet.
LINES = 3
BUDGET = len(CHECK_NAMES)
TRAININGS = 3
NO_CLEARANCE = "No signal is no clearance"
OF_THE_RECORD = (
    "This sheet is about steps of the work and how they were logged, not about "
    "persons. A higher rate can come from the log, the inspector, the drawings or the "
    "tools."
)


def read_crew_retraining(
    con: duckdb.DuckDBPyConnection, crew_code: str, selection: Selection
) -> RetrainingList:
    """Return the lines of the retraining list that are of this crew."""
    asked = replace(selection, crew_codes=(crew_code,), check_names=())
    return kept(
        con,
        ("retraining", asked, BUDGET),
        lambda: read_retraining(con, asked, BUDGET),
    )


def crew_lead(name: str, figures: Sequence[CheckFigures], found: RetrainingList) -> str:
    """Say which steps are worth teaching again, or that none stands out."""
    if not any(each.judged for each in figures):
        return (
            f"{name}: {words.NOTHING}. No installation that matches has a recorded "
            "result for any check."
        )
    clear, _ = _parted(found)
    if clear:
        steps = [words.title(row["check"]).lower() for row in clear[:LINES]]
        return f"{name}: most could be gained on {words.and_list(steps)}."
    flagged = [each for each in figures if each.is_flagged]
    if flagged:
        return (
            f"{name}: over all these days more was nonconforming than expected on "
            f"{lower_list(flagged)}; from {found.from_on} to {found.to_on} no step "
            f"stands out from what chance explains. {NO_CLEARANCE}."
        )
    return (
        f"{name}: no step stands out from what chance explains. {NO_CLEARANCE}: see "
        "below what could not be seen."
    )


def _parted(
    found: RetrainingList,
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return the entries clear of chance, and the others, in their order."""
    rows = found.entries.to_dicts()
    return (
        [row for row in rows if row["is_clear"]],
        [row for row in rows if not row["is_clear"]],
    )


def crew_parts(
    con: duckdb.DuckDBPyConnection,
    crew_code: str,
    figures: Sequence[CheckFigures],
    found: RetrainingList,
    selection: Selection,
) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """Return what stands above and below the table."""
    if not any(each.judged or each.missing for each in figures):
        return (), (_trainings(con, crew_code, selection),)
    doubted = read_near_zero(
        con, replace(selection, crew_codes=(crew_code,)), HEADLINE_NAMES
    ).to_dicts()
    names = dict(read_choices(con).sites)
    after = (
        Part("What is fine, and what could not be seen", _seen(figures, doubted)),
        _trainings(con, crew_code, selection),
        _inspectors(con, crew_code, figures, found, selection),
    )
    before = (*_in_common(con, selection, names), *_doubted(doubted, names))
    return (*before, _teach(con, crew_code, found, selection)), after


def _teach(
    con: duckdb.DuckDBPyConnection,
    crew_code: str,
    found: RetrainingList,
    selection: Selection,
) -> Part:
    """Return the lines clear of chance, and since when; the first alone where none is.

    Since when is read of all the selection's days, not only of those weighed.
    """
    days = f"weighed on {found.from_on} to {found.to_on}"
    clear, doubtful = _parted(found)
    if clear:
        pairs = [(crew_code, row["check"]) for row in clear[:LINES]]
        since = read_since(con, pairs, selection)
        said = [
            f"{foreman_words(row)} {one}"
            for row, one in zip(clear[:LINES], since, strict=True)
        ]
        return Part(f"Worth teaching again, {days}", tuple(said), is_numbered=True)
    heading = f"Nothing clear enough to teach again, {days}"
    if not doubtful:
        return Part(heading, (f"{NO_CLEARANCE}.",))
    first = f"First to look at: {foreman_words(doubtful[0])} It may be chance."
    return Part(heading, (first,))


def _in_common(
    con: duckdb.DuckDBPyConnection, selection: Selection, names: dict[str, str]
) -> tuple[Part, ...]:
    """Return what the whole site is out of line on, where the sheet is of one."""
    said = in_common_words(con, selection, names)
    return (Part("What the whole site has in common", (said,)),) if said else ()


def _doubted(
    doubted: Sequence[dict[str, Any]], names: dict[str, str]
) -> tuple[Part, ...]:
    """Return which rates near nothing rest on records worth a look."""
    if not doubted:
        return ()
    said = tuple(near_zero_words(row, names) for row in doubted[:LINES])
    return (Part("Near nothing, and worth a look", said),)


def _seen(
    figures: Sequence[CheckFigures], doubted: Sequence[dict[str, Any]]
) -> tuple[str, ...]:
    """Sort the checks by what can be said of them; every check is named once.

    But for those whose rate near nothing rests on records worth a look.
    """
    groups: dict[str, list[CheckFigures]] = {}
    left_out = {row["check"] for row in doubted}
    for each in figures:
        if each.check_name not in left_out:
            groups.setdefault(_kind(each), []).append(each)
    told = {
        "fewer": "Fewer than with the other crews, by more than chance: {}.",
        "alike": "No difference seen: {}. " + NO_CLEARANCE + "; the table says from "
        "which true rate on one would show.",
        "flagged": "More than with the other crews for the same work: {}.",
        "alone": "No other crew did the same work to compare with: {}.",
    }
    said = [
        text.format(lower_list(groups[kind]))
        for kind, text in told.items()
        if kind in groups
    ]
    empty = groups.get("empty", [])
    if empty:
        said.append(f"Nothing recorded, so nothing to judge: {lower_list(empty)}.")
    much = [each for each in figures if each.judged and each.is_much_missing]
    if much:
        shares = ", ".join(map(_unanswered, much))
        said.append(f"Much was not recorded, and could hide anything: {shares}.")
    return tuple(said)


def _unanswered(figures: CheckFigures) -> str:
    due = figures.judged + figures.missing
    return (
        f"{figures.title.lower()} ({words.count(figures.missing)} of "
        f"{words.count(due)}, {words.percent(figures.missing_share)})"
    )


def _kind(figures: CheckFigures) -> str:
    if figures.rate is None or not figures.judged:
        return "empty"
    if figures.is_flagged:
        return "flagged"
    if figures.compared is None or not figures.compares:
        return "alone"
    # Two-sided: what is clear of chance and not flagged as worse lies below.
    is_clear = figures.compared["q_value"] <= FLAGGED_AT
    return "fewer" if is_clear else "alike"


def _trainings(
    con: duckdb.DuckDBPyConnection, crew_code: str, selection: Selection
) -> Part:
    asked = replace(selection, crew_codes=(crew_code,), check_names=())
    results = kept(con, ("trainings", asked), lambda: read_training_results(con, asked))
    if not results:
        return Part(
            "Trainings held",
            ("None on a check is registered for this crew in these days.",),
        )
    said = [_training(result) for result in results[:TRAININGS]]
    if len(results) > TRAININGS:
        said.append(f"And {len(results) - TRAININGS} earlier: firmset training.")
    return Part("Trainings held", tuple(said))


def _training(result: TrainingResult) -> str:
    if result.found is None:
        held = result.training
        title = words.title(held.check_name)
        return f"{title}, {held.trained_on}: no effect can be told. {result.problem}."
    return f"{counted_words(result.found)} {verdict_words(result.found)}"


def _inspectors(
    con: duckdb.DuckDBPyConnection,
    crew_code: str,
    figures: Sequence[CheckFigures],
    found: RetrainingList,
    selection: Selection,
) -> Part:
    """Say what the crew's rate owes to who inspected it, on the first check named."""
    checks = list(found.entries["check"]) or [
        each.check_name
        for each in figures
        if each.judged and each.check_name in HEADLINE_NAMES
    ]
    strict = "A strict inspector finds more than a lax one; the table leaves that in."
    if not checks:
        return Part("Who inspected", (strict,))
    asked = replace(selection, crew_codes=(crew_code,), check_names=(checks[0],))
    crossed = kept(
        con,
        ("crossed", asked),
        lambda: read_crossed(con, checks[0], asked),
    )
    return Part("Who inspected", (f"{strict} {_crossed(checks[0], crossed)}",))


def _crossed(check_name: str, crossed: CrossedCrews) -> str:
    title = words.title(check_name)
    if crossed.crews.is_empty():
        return f"{title}: no judged anchor names its inspector, so they cannot be told."
    row = crossed.crews.row(0, named=True)
    by = (
        f"judged by {words.and_list(list(row['inspectors']))}, "
        f"{words.share(row['nonconforming'], row['judged'])} nonconforming"
    )
    if row["adjusted_rate"] is None:
        return f"{title}: {by}; crew and inspector cannot be told apart."
    low, high = (words.known_percent(row[f"adjusted_{end}"]) for end in ("low", "high"))
    return (
        f"{title}: {by}; under an average inspector about "
        f"{words.known_percent(row['adjusted_rate'])} ({low} to {high})."
    )


def crew_cautions() -> tuple[str, ...]:
    """Return what a reader of the sheet must bear in mind."""
    return (OF_THE_RECORD, words.CAUTION)
