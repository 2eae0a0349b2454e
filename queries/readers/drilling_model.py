"""The model of drilling time of an edition."""

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from queries.frames import read_frame
from queries.statistics.abandonment import Abandonment, fit_abandonment
from queries.statistics.drilling_model import DrillingModel, fit_drilling
from queries.statistics.mixed_model import Floats

FATES = (
    "no_depth",
    "untimed",
    "zero_time",
    "shared",
    "copied",
    "too_fast",
    "too_coarse",
)


@dataclass(frozen=True)
class DrillingData:
    """All holes of an edition, whatever the filters: a new site needs every site.

    `model` is None where there are fewer than 100 usable holes or 3 sites. `fates`:
    one row a site, `drilling_fate.sql`; `depths`: `drilling_depth.sql`.
    """

    model: DrillingModel | None
    fates: pl.DataFrame
    depths: pl.DataFrame


def read_drilling_data(con: duckdb.DuckDBPyConnection) -> DrillingData:
    """Return the fitted model, what became of every time, and attempts by depth."""
    cells = read_frame(con, "select * from drilling_cell")
    depths = read_frame(con, "select * from drilling_depth")
    fates = read_frame(con, "select * from drilling_fate order by site")
    if cells.is_empty() or depths.is_empty():
        return DrillingData(None, fates, depths)
    return DrillingData(fit_drilling(cells, _abandonment(cells, depths)), fates, depths)


def _abandonment(cells: pl.DataFrame, depths: pl.DataFrame) -> Abandonment:
    """Sites numbered as the model's; those without a usable time are in none."""
    sites = cells["site_code"].unique().sort().to_list()
    known = depths.filter(pl.col("site_code").is_in(sites))

    def column(name: str) -> Floats:
        return known[name].cast(pl.Float64).to_numpy()

    return fit_abandonment(
        (column("depth_from_mm") / 5).astype(np.int64),
        column("attempts"),
        column("abandoned"),
        column("drilled_mm"),
        np.asarray([sites.index(code) for code in known["site_code"]], dtype=np.int64),
    )
