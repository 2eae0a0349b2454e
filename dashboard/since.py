"""Since when a crew is worse on a check than it was itself, week by week."""

from dataclasses import replace
from typing import Final

import duckdb

from dashboard import words
from dashboard.kept import kept
from queries.readers.trend import read_trend
from queries.selection import Selection
from queries.statistics.charted import Point, Trend

# Signals of more nonconforming than the baseline's weeks would give.
RISEN: Final = frozenset({"beyond_upper", "run_above", "drift_above", "gaps_short"})
# It has been so since a week from which on so large a share of the weeks, and so many,
# show one: a lone week may be a false alarm.
STEADILY: Final = 0.5
FEWEST: Final = 2


def read_since(
    con: duckdb.DuckDBPyConnection, crew: str, check_name: str, selection: Selection
) -> str:
    """Return since when a crew is worse on a check, within a selection, in words."""
    asked = replace(selection, crew_codes=(crew,), check_names=())
    found = kept(
        con,
        ("since when", check_name, asked),
        lambda: read_trend(con, check_name, "week", asked),
    )
    return since_words(found)


def since_words(found: Trend) -> str:
    """Say since which week a trend stands above its own baseline; pure."""
    weeks = [point for point in found.points if point.judged]
    risen = [_is_risen(point) for point in weeks]
    for at, point in enumerate(weeks):
        since = risen[at:]
        if risen[at] and sum(since) >= max(FEWEST, STEADILY * len(since)):
            return (
                "Above its own earlier level since the week of "
                f"{words.day(words.week_days(point.period)[0])} ({sum(since)} of the "
                f"{len(since)} weeks with work)."
            )
    if not any(risen):
        return (
            "Week by week no rise shows over its own first weeks: it was so from the "
            "start, or rose by too little to be seen."
        )
    return (
        f"Above its own earlier level now and then ({sum(risen)} of the "
        f"{words.plural(len(weeks), 'week')} with work), not steadily since one of "
        "them."
    )


def _is_risen(point: Point) -> bool:
    return not RISEN.isdisjoint(point.signals)
