"""The next trainings in two waves, so that the second shows what the first did."""

from dataclasses import dataclass
from datetime import date, timedelta

import duckdb
import polars as pl

from queries.readers.retraining import PACE, RetrainingList, read_retraining
from queries.selection import Selection
from queries.statistics.staggering import (
    Hoped,
    hoped_rate,
    two_waves,
    weeks_between,
    weeks_to_see,
)

COLUMNS = (
    "wave",
    "from_on",
    "crew",
    "check",
    "eb_rate",
    "hoped_rate",
    "avoidable",
    "weeks_to_see",
)
SIGMAS_IN_INTERVAL = 2 * 1.959964


@dataclass(frozen=True)
class NextTrainings:
    """`plan`: COLUMNS, by wave, the most to spare first; `from_on` is a Monday.

    `weeks_to_see`: null where the fall would not be seen in LONGEST_WAIT_WEEKS.
    `weeks_between` the waves, None where there is one only. `found`: the list it is
    drawn from.
    """

    plan: pl.DataFrame
    weeks_between: int | None
    found: RetrainingList


def read_next_trainings(
    con: duckdb.DuckDBPyConnection, selection: Selection, count: int
) -> NextTrainings:
    """Return the first `count` of the retraining list in two waves.

    A crew is trained on all it is listed for at once. The second wave waits until a
    fall of the first half way to the reachable rate would be seen 8 times of 10.
    """
    found = read_retraining(con, selection, count)
    entries = found.entries
    if entries.is_empty() or found.to_on is None:
        empty = pl.DataFrame(schema=dict.fromkeys(COLUMNS, pl.String))
        return NextTrainings(empty, None, found)
    spared: dict[str, float] = {}
    for crew, gain in entries.select("crew", "avoidable").iter_rows():
        spared[crew] = spared.get(crew, 0.0) + gain
    waves = two_waves(spared)
    lately = _weeks(found)
    hoped = [_hoped(entry, lately) for entry in entries.to_dicts()]
    planned = entries.with_columns(
        pl.Series("wave", [waves[crew] for crew in entries["crew"]]),
        pl.Series("hoped_rate", [each.after for each in hoped]),
        pl.Series("weeks_to_see", map(weeks_to_see, hoped), dtype=pl.Int64),
    )
    first = planned.filter(pl.col("wave") == 1)["weeks_to_see"].to_list()
    between = weeks_between(first) if 2 in waves.values() else None
    start = _monday_after(found.to_on)
    second = start + timedelta(weeks=between or 0)
    plan = planned.with_columns(
        pl.when(pl.col("wave") == 1)
        .then(pl.lit(start))
        .otherwise(pl.lit(second))
        .alias("from_on")
    ).sort("wave", "avoidable", descending=[False, True], maintain_order=True)
    return NextTrainings(plan.select(COLUMNS), between, found)


def _weeks(found: RetrainingList) -> float:
    """Return how many weeks the pace was taken from."""
    if found.to_on is None or found.pace_from_on is None:
        return PACE.days / 7
    return ((found.to_on - found.pace_from_on).days + 1) / 7


def _hoped(entry: dict[str, float], weeks: float) -> Hoped:
    wide = (entry["eb_high"] - entry["eb_low"]) / SIGMAS_IN_INTERVAL
    return Hoped(
        rate=entry["eb_rate"],
        after=hoped_rate(entry["eb_rate"], entry["reachable_rate"]),
        uncertain=wide**2,
        judged_a_week=entry["judged_lately"] / weeks / entry["variation"],
    )


def _monday_after(day: date) -> date:
    return day + timedelta(days=7 - day.weekday())
