"""Counts of one month by group, check and cell of like work, and its bad days."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.readers.evidence import CELL_KEYS, read_tally_sums
from queries.selection import Selection
from queries.statistics.clustering import day_correlation, design_effects
from queries.statistics.flagging import Cells

Floats = NDArray[np.float64]

COUNTS = ("judged", "nonconforming", "missing")


@dataclass(frozen=True)
class Counted:
    """A row a look: group by group, and of each check by check; a column a cell.

    `missing`: unrecorded or unreadable, a look.
    """

    cells: Cells
    missing: NDArray[np.int64]


def month_end(first: date) -> date:
    """Return the last day of the month that begins on `first`."""
    return (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def whole_month(selection: Selection, first: date) -> Selection:
    return replace(selection, from_on=first, to_on=month_end(first))


def count_columns(check_names: Sequence[str]) -> list[str]:
    return [
        f"{name}_{count}"
        for name in check_names
        for count in ("judged", "nonconforming", "unrecorded", "unreadable")
    ]


def count_month(
    frame: pl.DataFrame,
    key: str,
    check_names: Sequence[str],
    groups: list[str],
    columns: dict[tuple[object, ...], int],
) -> Counted:
    """Return the counts of one month, a row a group and check."""
    place = {group: row for row, group in enumerate(groups)}
    row = np.array([place[group] for group in frame[key]], dtype=np.int64)
    cell = np.array(
        [columns[kind] for kind in frame.select(CELL_KEYS).rows()], dtype=np.int64
    )
    shape = (len(groups), len(check_names), len(columns))
    judged, found, missing = (np.zeros(shape, dtype=np.int64) for _ in range(3))
    for number, name in enumerate(check_names):
        judged[row, number, cell] = frame[f"{name}_judged"].to_numpy()
        found[row, number, cell] = frame[f"{name}_nonconforming"].to_numpy()
        missing[row, number, cell] = (
            frame[f"{name}_unrecorded"] + frame[f"{name}_unreadable"]
        ).to_numpy()
    flat = (-1, len(columns))
    cells = Cells(judged.reshape(flat), found.reshape(flat))
    return Counted(cells, missing.reshape(flat).sum(axis=1))


def inflations(
    con: duckdb.DuckDBPyConnection,
    key: str,
    selection: Selection,
    check_names: Sequence[str],
    months: tuple[date, date],
    groups: list[str],
) -> tuple[Floats, Floats]:
    """Return what bad days do to each look's variance, in either month.

    How alike a day's anchors are is taken from the year up to the later month, of all
    groups whatever is chosen; each month of a group is held to its own rate, so that a
    change is no bad day.
    """
    days = _read_days(con, key, selection, check_names, months[1])
    stratum = days["stratum"].to_numpy().astype(np.int64)
    place = pl.DataFrame({key: groups, "at": range(len(groups))})
    in_months = [
        days.filter(pl.col("first_on") == first).join(place, on=key) for first in months
    ]
    times = np.ones((2, len(groups), len(check_names)))
    for number, name in enumerate(check_names):
        likeness = day_correlation(
            days[f"{name}_nonconforming"].to_numpy(),
            days[f"{name}_judged"].to_numpy(),
            stratum,
        )
        for half, frame in enumerate(in_months):
            times[half, :, number] = design_effects(
                frame[f"{name}_judged"].to_numpy(),
                frame["at"].to_numpy(),
                len(groups),
                likeness,
            )
    return times[0].ravel(), times[1].ravel()


def _read_days(
    con: duckdb.DuckDBPyConnection,
    key: str,
    selection: Selection,
    check_names: Sequence[str],
    later: date,
) -> pl.DataFrame:
    """Return counts by group and day of a year; `stratum` numbers group and month."""
    everyone = {"site_code": "site_codes", "crew_code": "crew_codes"}[key]
    year = replace(
        selection,
        from_on=date(later.year - 1, later.month, 1),
        to_on=month_end(later),
        **{everyone: ()},
    )
    counts = [f"{name}_{one}" for name in check_names for one in COUNTS[:2]]
    days = read_tally_sums(con, (key, "installed_on"), counts, year)
    return days.with_columns(
        pl.col("installed_on").dt.truncate("1mo").alias("first_on")
    ).with_columns(pl.struct(key, "first_on").rank("dense").alias("stratum"))
