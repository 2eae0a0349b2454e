"""All checks at once, by site or crew: what a comparison weighs, in two questions."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.frames import read_frame
from queries.selection import Selection
from queries.statistics.flagging import Cells, GroupDays
from queries.statistics.matching import Kind

CELL_KEYS = ("anchor_size", "drill_method", "orientation")


@dataclass(frozen=True)
class Evidence:
    """One check of the groups in order of their code: a row of `cells` a group.

    `kinds` of work: the columns of `cells`, a value a key.
    """

    check_name: str
    groups: tuple[str, ...]
    kinds: tuple[Kind, ...]
    cells: Cells
    days: GroupDays


def read_evidence(
    con: duckdb.DuckDBPyConnection,
    group: str,
    check_names: Sequence[str],
    selection: Selection,
    cell_keys: Sequence[str] = CELL_KEYS,
) -> Iterator[Evidence]:
    """Yield the counts of each check, in their order.

    `group` ("site_code", "crew_code") and `cell_keys` are keys of the tally. One scan
    of it by cell and one by day for all checks: asked check by check, planning alone
    took most of the time.
    """
    counts = [
        f"{name}_{count}"
        for name in check_names
        for count in ("judged", "nonconforming")
    ]
    cells = read_tally_sums(con, (group, *cell_keys), counts, selection)
    days = read_tally_sums(con, (group, "installed_on"), counts, selection)
    groups = cells[group].unique(maintain_order=True)
    kinds = cells.select(cell_keys).rows()
    columns = {kind: column for column, kind in enumerate(dict.fromkeys(kinds))}
    at = (
        _places(cells[group], groups),
        np.array([columns[kind] for kind in kinds], dtype=np.int64),
    )
    shape = (len(groups), len(columns))
    of_day = _places(days[group], groups)
    for name in check_names:
        judged, found = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
        judged[at] = cells[f"{name}_judged"].to_numpy()
        found[at] = cells[f"{name}_nonconforming"].to_numpy()
        a_day = days[f"{name}_judged"].to_numpy()
        bad = days[f"{name}_nonconforming"].to_numpy()
        known = a_day > 0
        yield Evidence(
            name,
            tuple(groups),
            tuple(columns),
            Cells(judged, found),
            GroupDays(of_day[known], a_day[known], bad[known]),
        )


def _places(names: pl.Series, groups: pl.Series) -> NDArray[np.int64]:
    """Return the place of each name; by a loop a store of many days takes longer."""
    return names.cast(pl.Enum(groups)).to_physical().to_numpy().astype(np.int64)


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
