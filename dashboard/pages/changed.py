"""What changed since last month, as a section of Sites and Crews."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import partial

import duckdb
import polars as pl
from dash import html

from dashboard import words
from dashboard.address import View, format_search, records_href
from dashboard.change_words import (
    change_words,
    changed_words,
    counts_of,
    is_turned,
    month_name,
    silence_words,
    verb_of,
)
from dashboard.figures.change import change_figure
from dashboard.kept import read_kept_changes
from dashboard.later import Render
from dashboard.pages.common import site_names
from dashboard.parts import (
    Cell,
    Column,
    Row,
    behind,
    csv_link,
    graph,
    key,
    section,
    table,
)
from queries.judgement import ANY_CHECK
from queries.readers.change_counts import month_end
from queries.readers.changes import read_changes
from queries.readers.choices import Choices

# More groups than this are read in the table.
LONGEST_PICTURE = 25
HEADING = "What changed since last month"


def changes_of(by: str) -> Render:
    """Return the render function of the section on sites or crews (`by`)."""
    return partial(_changes, by)


def _list(sentences: Sequence[str]) -> html.Ul | None:
    return html.Ul([html.Li(one) for one in sentences]) if sentences else None


def _changes(
    by: str, con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    found = read_kept_changes(con, by, view.selection)
    names = site_names(choices) if by == "site" else {}
    if found.later is None or found.earlier is None:
        return section(HEADING, " ".join(change_words(found, by, names, "")))
    shown = found.looks
    if view.check_name == ANY_CHECK:
        # Not among the looks: it would count every fault twice.
        shown = read_changes(con, by, view.one_check).looks
    shown = shown.filter(pl.col("check") == view.check_name)
    check = words.title(view.check_name)
    months = f"{month_name(found.earlier)} and {month_name(found.later)}"
    rows = [
        row | {"name": names.get(row["group"], row["group"])}
        for row in shown.to_dicts()
    ]
    rows = sorted(rows, key=lambda row: str(row["name"]).lower())
    every = f"/csv/{by}-changes" + format_search(
        replace(view.selection, check_names=())
    )
    return section(
        HEADING,
        "The last whole month beside the one before, on every check whichever is "
        "chosen above: what stands out once bad days and the number of looks are "
        "allowed for.",
        _list(changed_words(found, names)),
        html.P(
            " ".join(change_words(found, by, names, view.check_name)), className="says"
        ),
        _list(silence_words(found, names)),
        *_picture(rows, f"{check}, {months}, by {by}"),
        behind(
            table(
                rows,
                _columns(by, view, found.earlier, found.later),
                caption=f"{check}, {months}",
                look="tall",
            ),
            every,
            what=f"{check.lower()}, {months}",
            csv_what=f"changes of all checks by {by}",
        )
        if rows
        else csv_link(every, f"changes of all checks by {by}"),
    )


def _picture(rows: list[Row], what: str) -> list[html.Ul | html.Div]:
    """Return the differences as a chart with its key; nothing where it is too long."""
    if not rows or len(rows) > LONGEST_PICTURE:
        return []
    marks = key(
        ("interval", "difference in points and its 95 % interval"),
        ("above", "changed, the number of looks allowed for"),
        ("rise", "from here on a rise would have been seen 8 times of 10"),
    )
    says = f"{what}: difference in points with its 95 % interval."
    return [marks, graph(change_figure(rows), name="changes", says=says)]


def _columns(by: str, view: View, earlier: date, later: date) -> list[Column]:
    def month(name: str, first: date) -> Column:
        def cell(row: Row) -> Cell:
            found = row[f"{name}_nonconforming"]
            return Cell(
                words.percent(row[f"{name}_rate"]),
                small=words.share(found, row[f"{name}_judged"]),
                href=_href(by, view, row["group"], first) if found else "",
            )

        return Column(month_name(first), cell, is_number=True)

    return [
        Column(by.capitalize(), lambda row: row["name"]),
        month("earlier", earlier),
        month("later", later),
        Column("Points", _difference, is_number=True),
        Column("From mix", lambda row: words.points(row["mix_part"]), is_number=True),
        Column("q", _q, is_number=True),
        Column("Changed", lambda row: _verdict(row)),
        Column("Could see a rise of", _rise, is_number=True),
        Column("Answers missing", _missing, is_number=True),
    ]


def _href(by: str, view: View, group: str, first: date) -> str:
    month = replace(view.one_check, from_on=first, to_on=month_end(first))
    return records_href(month.choosing(by, (group,)))


def _difference(row: Row) -> Cell | str:
    if row["difference"] is None:
        return words.DASH
    ends = f"{words.points(row['low'])} to {words.points(row['high'])}"
    return Cell(words.points(row["difference"]), small=ends)


def _q(row: Row) -> str:
    if row["q_value"] is None:
        return words.DASH
    return "< 0.001" if row["q_value"] < 0.001 else words.fixed(row["q_value"], 3)


def _verdict(row: Row) -> str:
    if row["p_value"] is None:
        return "nothing to compare"
    if not row["is_changed"]:
        return ""
    mark = "\N{BLACK UP-POINTING TRIANGLE} " if row["is_worse"] else ""
    return f"{mark}{verb_of(row)}{' within like work' if is_turned(row) else ''}"


def _rise(row: Row) -> str:
    rise = row["detectable_rise"]
    return words.DASH if rise is None else f"{words.fixed(100 * rise, 1)} points"


def _missing(row: Row) -> str:
    shares = [counts_of(row, month).missing_share for month in ("earlier", "later")]
    return " to ".join(words.known_percent(share) for share in shares)
