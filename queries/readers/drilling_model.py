"""The model of drilling time of an edition."""

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from queries.frames import read_frame
from queries.statistics.abandonment import Abandonment, fit_abandonment
from queries.statistics.drilling_model import DrillingModel, Lack, fit_drilling
from queries.statistics.mixed_model import Floats

# What becomes of a drilling time (timed_attempt.sql), by the name of its count.
FATES = {
    "used": "used",
    "no_depth": "no_depth",
    "untimed": "untimed",
    "zero_time": "zero",
    "shared": "shared",
    "copied": "copied",
    "too_fast": "too_fast",
    "too_coarse": "too_coarse",
}
HOLE = ["site_code", "anchor_size", "diameter_mm", "drill_diameter_mm", "drill_method"]


@dataclass(frozen=True)
class DrillingData:
    """All holes of an edition, whatever the filters: a new site needs every site.

    `fitted` is the model, or what there is too little of for one. `fates`: one
    row a site: site, attempts and of them each of FATES, which add up to it; over_limit
    (faster than 25 mm/s), resolution_s and heap_s (`drilling_step.sql`). `depths`: one
    row a site, size, method, orientation and step of depth: attempts, abandoned,
    completed, used (completed and timed), drilled_mm, sum_extra_mm. `handling`: seconds
    of cleaning and setting where logged (`handling_time.sql`).
    """

    fitted: DrillingModel | Lack
    fates: pl.DataFrame
    depths: pl.DataFrame
    handling: pl.DataFrame

    @property
    def model(self) -> DrillingModel | None:
        """The model, where there is one."""
        return None if isinstance(self.fitted, Lack) else self.fitted


def read_drilling_data(con: duckdb.DuckDBPyConnection) -> DrillingData:
    """Return the fitted model, what became of every time, and attempts by depth."""
    cells = read_frame(con, "select * from drilling_cell")
    counted = read_frame(con, "select * from drilling_depth")
    steps = read_frame(con, "select site_code, resolution_s, heap_s from drilling_step")
    handling = read_frame(con, "select * from handling_time order by all")
    fates, depths = _fates(counted, steps), _depths(counted)
    fitted = (
        Lack.HOLES
        if cells.is_empty()
        else fit_drilling(cells, _abandonment(cells, depths))
    )
    return DrillingData(fitted, fates, depths, handling)


def _fates(counted: pl.DataFrame, steps: pl.DataFrame) -> pl.DataFrame:
    return (
        counted.group_by("site_code")
        .agg(
            pl.col("attempts").sum(),
            *(
                pl.col("attempts").filter(pl.col("fate") == fate).sum().alias(name)
                for name, fate in FATES.items()
            ),
            pl.col("over_limit").sum(),
        )
        .join(steps, on="site_code", how="left")
        .with_columns(pl.col("resolution_s", "heap_s").fill_null(0.0))
        .rename({"site_code": "site"})
        .sort("site")
    )


def _depths(counted: pl.DataFrame) -> pl.DataFrame:
    completed = pl.col("attempts") - pl.col("abandoned")
    return (
        counted.filter(pl.col("depth_from_mm").is_not_null())
        .with_columns(
            completed.alias("completed"),
            pl.when(pl.col("fate") == "used")
            .then(completed)
            .otherwise(0)
            .alias("used"),
        )
        .group_by(*HOLE, "orientation", "depth_from_mm")
        .agg(
            pl.col("attempts", "abandoned", "completed", "used").sum(),
            pl.col("drilled_mm", "sum_extra_mm").sum(),
        )
        .sort(*HOLE, "orientation", "depth_from_mm")
    )


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
