"""The model of one installation, for any sites: the steps in the order of the work."""

from collections.abc import Sequence
from dataclasses import asdict

import numpy as np
import polars as pl

from demo_data.anchor import add_anchor
from demo_data.cleaning import add_cleaning
from demo_data.edge import add_edges
from demo_data.flaws import draw_flaws
from demo_data.gaps import leave_blank
from demo_data.handling import add_handling
from demo_data.hole import add_hole
from demo_data.lesser import add_lesser_faults
from demo_data.rota import draw_rota
from demo_data.setting import with_torque_band
from demo_data.sites import Site
from demo_data.stories import Planted
from demo_data.streams import Streams
from demo_data.torque import add_torque
from queries.columns import LOGGED_COLUMNS

SITE_HABITS = (
    "missing_frac",
    "length_logged",
    "logs_embedment",
    "cleaning_logged",
    "depth_step_mm",
    "tape_step_mm",
    "torque_step_nm",
    "times_handling",
)
# Setting data whose names an installation uses for what was really done.
SAME_NAMES = (
    "embedment_mm",
    "hole_depth_mm",
    "anchor_length_mm",
    "length_mark",
    "setting_torque_nm",
)
REPLACED_FRAC = 0.004
TILT_MEASURED_FRAC = 0.2
TILT_SD_DEG = 1.8
NOTES = {
    "abandoned": "reinforcement met, hole filled",
    "replaced": "anchor exchanged",
}

ColumnType = pl.DataType | type[pl.DataType]

_TYPES: dict[str, ColumnType] = {
    "text": pl.String,
    "code": pl.String,
    "choice": pl.String,
    "number": pl.Float64,
    "integer": pl.Int64,
    "yes_no": pl.Boolean,
    "date": pl.Date,
    "instant": pl.Datetime("us", "UTC"),
}
# Columns of an installation, in canonical order, with the site in front; the two
# local times are what the site's clock showed.
INSTALLATION_SCHEMA: dict[str, ColumnType] = {
    "site_code": pl.String,
    **{column.name: _TYPES[column.kind] for column in LOGGED_COLUMNS},
    "installed_local": pl.Datetime("us"),
    "recheck_local": pl.Datetime("us"),
}


def simulate(
    sites: Sequence[Site],
    setting_data: pl.DataFrame,
    stories: Sequence[Planted],
    installations: int,
    seed: int,
) -> pl.DataFrame:
    """Return exactly `installations` rows with the columns of INSTALLATION_SCHEMA.

    Rows are in the order of site and time. Distances logged as clear are infinite.
    Only the setting data that a site's sizes use are drawn.
    """
    streams = Streams(seed)
    rows = (
        draw_rota(sites, setting_data, installations, streams)
        .join(_required(setting_data), on="setting_code", how="left")
        .join(_habits(sites), on="site_code", how="left")
        .sort("site_code", "record_id")
    )
    flaws = draw_flaws(rows, stories, streams)
    return (
        rows.pipe(add_hole, flaws, stories, streams)
        .pipe(add_cleaning, flaws, streams)
        .pipe(add_handling, streams)
        .pipe(add_anchor, flaws, stories, streams)
        .pipe(add_edges, flaws, streams)
        .pipe(add_torque, flaws, stories, streams)
        .pipe(_add_remarks, streams.named("remarks"))
        .pipe(add_lesser_faults, stories, streams)
        .pipe(leave_blank, streams)
        .pipe(_add_instants, sites)
        .select(pl.col(name).cast(dtype) for name, dtype in INSTALLATION_SCHEMA.items())
    )


def _required(setting_data: pl.DataFrame) -> pl.DataFrame:
    renamed = {name: f"required_{name}" for name in SAME_NAMES}
    return with_torque_band(setting_data).rename(renamed)


def _habits(sites: Sequence[Site]) -> pl.DataFrame:
    habits = [{name: asdict(site)[name] for name in SITE_HABITS} for site in sites]
    return pl.DataFrame(
        habits, schema_overrides={"torque_step_nm": pl.Float64}
    ).with_columns(site_code=pl.Series([site.code for site in sites]))


def _add_remarks(rows: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    """Add revision, replaced anchors, tilt and notes."""
    count = rows.height
    is_replaced = pl.Series(rng.random(count) < REPLACED_FRAC)
    is_measured = pl.Series(rng.random(count) < TILT_MEASURED_FRAC)
    tilt = np.abs(rng.normal(0.0, TILT_SD_DEG, count))
    return rows.with_columns(
        revision=pl.lit(0),
        outcome=pl.when((pl.col("outcome") == "set") & is_replaced)
        .then(pl.lit("replaced"))
        .otherwise("outcome"),
        tilt_deg=pl.when(is_measured).then(pl.Series(np.round(tilt * 2) / 2)),
    ).with_columns(note=pl.col("outcome").replace_strict(NOTES, default=None))


def _add_instants(rows: pl.DataFrame, sites: Sequence[Site]) -> pl.DataFrame:
    """Add the UTC instants of the local times, by each site's time zone.

    Working hours never fall on a clock change, so no time is skipped or ambiguous.
    """
    zones = {site.code: site.time_zone for site in sites}
    frames = [
        frame.with_columns(
            installed_at=_to_utc("installed_local", zones[str(code)]),
            recheck_at=_to_utc("recheck_local", zones[str(code)]),
        )
        for (code,), frame in rows.group_by("site_code", maintain_order=True)
    ]
    return pl.concat(frames)


def _to_utc(name: str, time_zone: str) -> pl.Expr:
    return pl.col(name).dt.replace_time_zone(time_zone).dt.convert_time_zone("UTC")
