"""Each crew's counts before and after a day, bad days allowed for."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from types import MappingProxyType

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.readers.evidence import CELL_KEYS, read_crew_sums
from queries.readers.trainings import RegisteredTraining
from queries.selection import Selection
from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.mix import mix_change
from queries.statistics.training import BeforeAfter

Table = NDArray[np.float64]
SAME_MIX: Mapping[str, tuple[float, float]] = MappingProxyType({})


@dataclass(frozen=True)
class Window:
    """So many weeks before a day and from it on; `first` and `last` are included."""

    on: date
    weeks: int

    @property
    def first(self) -> date:
        """The first day compared."""
        return self.on - timedelta(weeks=self.weeks)

    @property
    def last(self) -> date:
        """The last day compared."""
        return self.on + timedelta(weeks=self.weeks) - timedelta(days=1)

    def trained(self, register: Iterable[RegisteredTraining]) -> set[str]:
        """Return the crews of the register that were trained within it."""
        return {
            entry.crew_code
            for entry in register
            if self.first <= entry.trained_on <= self.last
        }


@dataclass(frozen=True)
class CrewCounts:
    """A row a crew in the order of `crews`.

    `counts` are divided by the inflation that the likeness of a day's anchors gives,
    those before held to the mix of work after, which is `harder` so many times;
    `judged` and `nonconforming` are the plain ones, columns before and after.
    """

    crews: list[str]
    counts: BeforeAfter
    harder: Table
    judged: Table
    nonconforming: Table


def read_mix_change(
    con: duckdb.DuckDBPyConnection, check_name: str, selection: Selection, on: date
) -> dict[str, tuple[float, float]]:
    """Return how many times harder each crew's mix of work is from a day on.

    And the variance of the logarithm of that; by crew, of all crews of the selection.
    """
    counts = [f"{check_name}_judged", f"{check_name}_nonconforming"]
    halves = [
        read_crew_sums(con, CELL_KEYS, counts, half)
        for half in (
            replace(selection, to_on=on - timedelta(days=1)),
            replace(selection, from_on=on),
        )
    ]
    both = pl.concat(halves)
    crews = both["crew_code"].unique().sort().to_list()
    kinds = list(dict.fromkeys(both.select(CELL_KEYS).rows()))
    crew_of = {name: row for row, name in enumerate(crews)}
    kind_of = {kind: column for column, kind in enumerate(kinds)}

    def table(half: pl.DataFrame, count: str) -> NDArray[np.int64]:
        filled = np.zeros((len(crews), len(kinds)), dtype=np.int64)
        for crew, *kind, number in half.select("crew_code", *CELL_KEYS, count).rows():
            filled[crew_of[crew], kind_of[tuple(kind)]] = number
        return filled

    before, after = (table(half, counts[0]) for half in halves)
    found = sum((table(half, counts[1]) for half in halves), np.zeros_like(before))
    change = mix_change(before, after, found)
    pairs = zip(change.times.tolist(), change.variance.tolist(), strict=True)
    return dict(zip(crews, pairs, strict=True))


def count_before_after(
    days: pl.DataFrame,
    on: date,
    mix: Mapping[str, tuple[float, float]] = SAME_MIX,
) -> CrewCounts:
    """Return the counts about a day; `days` is of read_judged_days by crew, not empty.

    Each half of a crew is a group of its own: a training's effect is no bad day. Nor is
    other work one (`mix`: read_mix_change): what was found before is held to as many
    anchors as would have it of the work done after, and, as is known of how hard that
    is, divided further, so that the variance of the logarithm is added to its own.
    """
    crews = days["group_name"].unique(maintain_order=True).to_list()
    place = {name: row for row, name in enumerate(crews)}
    crew = np.array([place[name] for name in days["group_name"]])
    is_after = (days["installed_on"] >= on).to_numpy().astype(np.int64)
    half = 2 * crew + is_after
    judged, found = days["judged"].to_numpy(), days["nonconforming"].to_numpy()
    likeness = day_correlation(found, judged, half)
    size, shape = 2 * len(crews), (len(crews), 2)
    times = design_effects(judged, half, size, likeness).reshape(shape)
    n = np.bincount(half, judged, size).reshape(shape).astype(np.float64)
    x = np.bincount(half, found, size).reshape(shape).astype(np.float64)
    harder, spread = np.array([mix.get(name, (1.0, 0.0)) for name in crews]).T
    worth = np.maximum(n[:, 0] / harder, x[:, 0])
    early = times[:, 0] + x[:, 0] * spread
    return CrewCounts(
        crews,
        BeforeAfter(
            x[:, 0] / early, worth / early, x[:, 1] / times[:, 1], n[:, 1] / times[:, 1]
        ),
        harder,
        n,
        x,
    )
