"""A crew before and after a training, beside the crews that had none."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.errors import FirmsetError
from queries.readers.days import read_judged_days
from queries.selection import Selection
from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.training import BeforeAfter, TrainingEffect, training_effect

WEEKS = 12


@dataclass(frozen=True)
class Trained:
    """The plain counts of the crew beside the effect; dates are both included."""

    crew_code: str
    check_name: str
    on: date
    from_on: date
    to_on: date
    before_judged: int
    before_nonconforming: int
    after_judged: int
    after_nonconforming: int
    effect: TrainingEffect


def read_training_effect(
    con: duckdb.DuckDBPyConnection,
    crew_code: str,
    check_name: str,
    on: date,
    selection: Selection,
    weeks: int = WEEKS,
) -> Trained:
    """Return what a training of one crew on one day did to one check.

    Compared are so many weeks before the day and from it on; every other crew of the
    selection counts as not trained. Bad days are allowed for: counts are divided by
    the inflation that the likeness of a day's anchors gives. Raises FirmsetError where
    too little is judged to say anything.
    """
    span = timedelta(weeks=weeks)
    first, last = on - span, on + span - timedelta(days=1)
    whole = replace(selection, crew_codes=(), from_on=first, to_on=last)
    days = read_judged_days(con, check_name, whole, "crew")
    crews = days["group_name"].unique(maintain_order=True).to_list()
    if crew_code not in crews:
        raise FirmsetError(
            f"crew {crew_code}: no {check_name} is judged from {first} to {last}"
        )
    counts, plain = _counts(days, crews, on)
    crew = crews.index(crew_code)
    try:
        effect = training_effect(counts, crew)
    except ValueError as error:
        raise FirmsetError(
            f"{check_name}, crew {crew_code}, {first} to {last}: {error}"
        ) from error
    x, n = plain
    return Trained(
        crew_code=crew_code,
        check_name=check_name,
        on=on,
        from_on=first,
        to_on=last,
        before_judged=int(n[crew, 0]),
        before_nonconforming=int(x[crew, 0]),
        after_judged=int(n[crew, 1]),
        after_nonconforming=int(x[crew, 1]),
        effect=effect,
    )


Table = NDArray[np.float64]


def _counts(
    days: pl.DataFrame, crews: list[str], on: date
) -> tuple[BeforeAfter, tuple[Table, Table]]:
    """Return counts over their inflation, and the plain ones.

    The plain ones are nonconforming and judged, a row a crew: before, after.
    """
    place = {name: row for row, name in enumerate(crews)}
    crew = np.array([place[name] for name in days["group_name"]])
    is_after = (days["installed_on"] >= on).to_numpy().astype(np.int64)
    half = 2 * crew + is_after
    judged, found = days["judged"].to_numpy(), days["nonconforming"].to_numpy()
    # Each half of a crew is a group of its own: a training's effect is no bad day.
    likeness = day_correlation(found, judged, half)
    shape = (len(crews), 2)
    times = design_effects(judged, half, 2 * len(crews), likeness).reshape(shape)
    size = 2 * len(crews)
    n = np.bincount(half, judged, size).reshape(shape).astype(np.float64)
    x = np.bincount(half, found, size).reshape(shape).astype(np.float64)
    x_eff, n_eff = x / times, n / times
    return (
        BeforeAfter(x_eff[:, 0], n_eff[:, 0], x_eff[:, 1], n_eff[:, 1]),
        (x, n),
    )
