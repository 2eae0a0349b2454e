"""What stands out at the sites on any check: the list to ask by."""

from collections.abc import Sequence
from dataclasses import replace

import duckdb
from dash import html

from dashboard import words
from dashboard.address import View, records_href
from dashboard.compared import expected_rate
from dashboard.comparison_words import (
    CAUTION,
    beside_words,
    compares,
)
from dashboard.headline_words import MIX, NOTHING_COMPARES, standing_out
from dashboard.kept import read_kept_comparisons
from dashboard.pages.common import site_names
from dashboard.pages.compared_groups import group_href
from dashboard.pages.sheets import sheet_column
from dashboard.parts import Cell, Column, Row, section, table
from dashboard.who_and_when import read_who_and_when
from queries.judgement import CHECK_NAMES
from queries.readers.choices import Choices
from queries.selection import Selection

# Keeps an interval on one line, where a browser would break behind its dash.
WORD_JOINER = "\u2060"
HEADING = "What stands out"
# What one meeting can ask about; the rest is folded away.
SHOWN = 8


def standing_out_section(
    con: duckdb.DuckDBPyConnection, view: View, choices: Choices
) -> html.Section:
    """Return every site and check out of line, whatever check is chosen."""
    weighed = read_kept_comparisons(con, "site", CHECK_NAMES, view.selection)
    found = standing_out(weighed, site_names(choices))
    rows = _with_who_and_when(con, found, view.selection)
    if not any(compares(each) for each in weighed.values()):
        return section(HEADING, NOTHING_COMPARES)
    if not rows:
        return section(
            HEADING,
            f"On none of the {len(CHECK_NAMES)} checks is a site out of line {MIX}. "
            "That is no clearance.",
        )
    return section(
        HEADING,
        f"Out of line {MIX}, on any check: those with the most nonconforming beyond "
        "what the others' rates would give for the same work first. The points between "
        f"a site's rate and the others' are split into mix and doing. Beside them the "
        f"crew with the most of it, and its last month, counted plainly. {CAUTION}",
        _table(rows[:SHOWN], view, HEADING),
        _rest(rows[SHOWN:], view),
    )


def _with_who_and_when(
    con: duckdb.DuckDBPyConnection, rows: Sequence[Row], selection: Selection
) -> list[Row]:
    """Add to each row its crew with the most, its share of all, and its last month."""
    pairs = [(row["group"], row["check"]) for row in rows]
    found = read_who_and_when(con, pairs, selection)
    return [
        row | {"most": found[pair].crews[0], "last": found[pair].months[-1]}
        for row, pair in zip(rows, pairs, strict=True)
    ]


def _rest(rows: list[Row], view: View) -> html.Div | None:
    """Return what comes after the first, folded away."""
    if not rows:
        return None
    more = f"{len(rows)} more"
    folded = html.Details([html.Summary(more), _table(rows, view, more)])
    return html.Div(folded, className="behind rest")


def _table(rows: list[Row], view: View, caption: str) -> html.Div:
    return table(
        [row | {"site": row["group"]} for row in rows],
        [
            Column("Site", lambda row: row["name"]),
            Column("Check", lambda row: words.title(row["check"])),
            Column("Rate", lambda row: _rate(view, row), is_number=True),
            Column("Expected", _expected, is_number=True),
            Column("Times expected", _times, is_number=True),
            Column("From mix, points", _mix, is_number=True),
            Column("From doing, points", _doing, is_number=True),
            Column(
                "Crew with most of these", lambda row: _most(view, row), is_number=True
            ),
            Column("Last month", _last, is_number=True),
            Column("Answers missing", _missing, is_number=True),
            sheet_column("site", view.selection),
        ],
        caption=caption,
        look="cards",
    )


def _rate(view: View, row: Row) -> Cell:
    return Cell(
        words.percent(row["rate"]),
        small=words.share(row["nonconforming"], row["judged"]),
        href=group_href(view, "site", row["group"], row["check"]),
    )


def _expected(row: Row) -> Cell:
    told = [words.about(row["expected"]), beside_words(row)]
    return Cell(words.percent(expected_rate(row)), small=", ".join(filter(None, told)))


def _times(row: Row) -> Cell:
    if row["ratio"] is None:
        return Cell(words.DASH)
    low, high = row["ratio_low"], row["ratio_high"]
    return Cell(
        words.fixed(row["ratio"], 1),
        small=f"{words.fixed(low, 1)}{words.DASH}{WORD_JOINER}{words.fixed(high, 1)}",
    )


def _most(view: View, row: Row) -> Cell:
    """Show the crew and its share of what was found, beside its share of the judged."""
    most = row["most"]
    found = most["nonconforming"] / row["nonconforming"]
    own = replace(
        view.selection,
        site_codes=(row["group"],),
        crew_codes=(most["crew"],),
        check_names=(row["check"],),
    )
    return Cell(
        f"{most['crew']}: {words.percent(found)}",
        small="of these, with "
        f"{words.percent(most['judged'] / row['judged'])} of the judged",
        href=records_href(own),
    )


def _last(row: Row) -> Cell:
    last = row["last"]
    share = words.share(last["nonconforming"], last["judged"])
    return Cell(words.percent(last["rate"]), small=f"{last['month']}: {share}")


def _missing(row: Row) -> str:
    due = row["judged"] + row["missing"]
    return words.percent(row["missing"] / due)


def _mix(row: Row) -> str:
    return words.points(row["mix_part"])


def _doing(row: Row) -> str:
    return words.points(row["performance_part"])
