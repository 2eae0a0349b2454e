"""Since when a crew is worse on a check than it was itself, week by week."""

from collections.abc import Sequence
from typing import Final

import duckdb

from dashboard import words
from dashboard.kept import read_kept_trends
from queries.selection import Selection
from queries.statistics.charted import Point, Trend

# Signals of more nonconforming than the baseline's weeks would give.
RISEN: Final = frozenset({"beyond_upper", "run_above", "drift_above", "gaps_short"})
# It has been so since a week from which on so large a share of the weeks, and so many,
# show one: a lone week may be a false alarm.
STEADILY: Final = 0.5
FEWEST: Final = 2


def read_since(
    con: duckdb.DuckDBPyConnection,
    pairs: Sequence[tuple[str, str]],
    selection: Selection,
) -> list[str]:
    """Return since when each pair of crew and check is worse, in words.

    Within a selection, whose own crews and checks do not matter.
    """
    found = {
        (crew, check_name): one
        for check_name in {check_name for _, check_name in pairs}
        for crew, one in read_kept_trends(
            con,
            check_name,
            selection,
            "crew",
            [crew for crew, of in pairs if of == check_name],
        ).items()
    }
    return [since_words(found[pair]) for pair in pairs]


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
