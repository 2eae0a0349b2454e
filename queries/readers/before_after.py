"""Each crew's counts before and after a day, bad days allowed for."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.readers.trainings import RegisteredTraining
from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.training import BeforeAfter

Table = NDArray[np.float64]


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

    `counts` are divided by the inflation that the likeness of a day's anchors gives;
    `judged` and `nonconforming` are the plain ones, columns before and after.
    """

    crews: list[str]
    counts: BeforeAfter
    judged: Table
    nonconforming: Table


def count_before_after(days: pl.DataFrame, on: date) -> CrewCounts:
    """Return the counts about a day; `days` is of read_judged_days by crew, not empty.

    Each half of a crew is a group of its own: a training's effect is no bad day.
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
    x_eff, n_eff = x / times, n / times
    return CrewCounts(
        crews,
        BeforeAfter(x_eff[:, 0], n_eff[:, 0], x_eff[:, 1], n_eff[:, 1]),
        n,
        x,
    )
