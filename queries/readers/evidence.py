"""All checks at once, by crew: what a retraining list weighs, in two questions."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from queries.frames import read_frame
from queries.selection import Selection
from queries.statistics.flagging import Cells, GroupDays

CELL_KEYS = ("anchor_size", "drill_method", "orientation")


@dataclass(frozen=True)
class Evidence:
    """One check of the crews in order of their code: a row of `cells` a crew."""

    check_name: str
    crews: tuple[str, ...]
    cells: Cells
    days: GroupDays


def read_evidence(
    con: duckdb.DuckDBPyConnection, check_names: Sequence[str], selection: Selection
) -> Iterator[Evidence]:
    """Yield the counts of each check of which anything is judged.

    One scan of the tally by cell and one by day for all checks: asked check by check,
    planning alone took most of the time.
    """
    cells = read_crew_sums(con, CELL_KEYS, _counted(check_names), selection)
    days = read_crew_sums(con, ("installed_on",), _counted(check_names), selection)
    crews = tuple(cells["crew_code"].unique(maintain_order=True))
    place = {crew: row for row, crew in enumerate(crews)}
    kinds = cells.select(CELL_KEYS).rows()
    columns = {kind: column for column, kind in enumerate(dict.fromkeys(kinds))}
    at = (_places(cells, place), np.array([columns[kind] for kind in kinds], dtype=int))
    shape = (len(crews), len(columns))
    of_day = _places(days, place)
    for name in check_names:
        judged, found = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
        judged[at] = cells[f"{name}_judged"].to_numpy()
        found[at] = cells[f"{name}_nonconforming"].to_numpy()
        a_day = days[f"{name}_judged"].to_numpy()
        bad = days[f"{name}_nonconforming"].to_numpy()
        if judged.any():
            known = a_day > 0
            yield Evidence(
                name,
                crews,
                Cells(judged, found),
                GroupDays(of_day[known], a_day[known], bad[known]),
            )


def _counted(check_names: Sequence[str]) -> list[str]:
    return [
        f"{name}_{count}"
        for name in check_names
        for count in ("judged", "nonconforming")
    ]


def _places(frame: pl.DataFrame, place: dict[str, int]) -> np.ndarray:
    return np.array([place[crew] for crew in frame["crew_code"]], dtype=np.int64)


def read_crew_sums(
    con: duckdb.DuckDBPyConnection,
    keys: Sequence[str],
    counts: Sequence[str],
    selection: Selection,
) -> pl.DataFrame:
    """Return sums of the tally's count columns by crew and keys, in their order.

    `keys` and `counts` are names of the tally's columns (queries/tally.py).
    """
    return read_tally_sums(con, ("crew_code", *keys), counts, selection)


def read_tally_sums(
    con: duckdb.DuckDBPyConnection,
    keys: Sequence[str],
    counts: Sequence[str],
    selection: Selection,
) -> pl.DataFrame:
    """Return sums of the tally's count columns by keys, in their order.

    `keys` (one or more) and `counts` are names of the tally's columns
    (queries/tally.py).
    """
    grouped = ", ".join(keys)
    sums = ", ".join(f"sum({name})::bigint as {name}" for name in counts)
    return read_frame(
        con,
        f"""
        select {grouped}, {sums}
        from tally
        where
            ($from_on is null or installed_on >= $from_on::date)
            and ($to_on is null or installed_on <= $to_on::date)
            and ($site_codes is null or list_contains($site_codes, site_code))
            and ($crew_codes is null or list_contains($crew_codes, crew_code))
            and ($anchor_sizes is null or list_contains($anchor_sizes, anchor_size))
        group by {grouped}
        order by {grouped}
        """,
        selection.parameters(),
    )
