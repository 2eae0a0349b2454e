"""The demo's sheet of planned holes: what is planned next, and what was planned."""

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np
import polars as pl

from demo_data.sites import LAST_ON, SITES
from demo_data.stories import PLANNED_FROM, STORIES

# A plan is made for so many weeks, and carries on with what was set in the last ones.
PLANNED = timedelta(weeks=6)
# Of every plan so much is never set: plans change.
PLAN_CHANGES = 0.02
SEED = 20261030


def planned_holes(installations: pl.DataFrame) -> pl.DataFrame:
    """Return a row a site, crew, setting data and plan; those of the past without crew.

    The next plan has as many holes as were drilled in the last one's days. Of the past
    ones PLAN_CHANGES are not logged, or as many as the planted fact has it.
    """
    return pl.concat([*_past(installations), _next(installations)])


def _next(installations: pl.DataFrame) -> pl.DataFrame:
    keys = ("site_code", "crew_code", "setting_code")
    recent = _within(installations, LAST_ON - PLANNED + timedelta(days=1), LAST_ON)
    counted = recent.group_by(keys).agg(hole_count=pl.len()).sort(keys)
    return _from_to(counted, LAST_ON + timedelta(days=1), LAST_ON + PLANNED)


def _past(installations: pl.DataFrame) -> Iterator[pl.DataFrame]:
    rng = np.random.default_rng(SEED)
    keys = ("site_code", "setting_code")
    share = {site.code: PLAN_CHANGES for site in SITES} | {
        fact.site_code: fact.value
        for fact in STORIES
        if fact.kind == "holes_not_logged" and fact.site_code and fact.value
    }
    last_on = LAST_ON
    while last_on >= PLANNED_FROM:
        first_on = last_on - PLANNED + timedelta(days=1)
        anchors = _within(installations, first_on, last_on).filter(
            pl.col("outcome").ne_missing("abandoned")
        )
        logged = anchors.group_by(keys).agg(logged=pl.len()).sort(keys)
        missing = logged["site_code"].replace_strict(share, return_dtype=pl.Float64)
        # Each planned hole is logged or not, until as many are logged as were.
        unlogged = rng.negative_binomial(logged["logged"], 1 - missing.to_numpy())
        counted = logged.select(
            "site_code",
            pl.lit(None, pl.String).alias("crew_code"),
            "setting_code",
            hole_count=(pl.col("logged") + unlogged).cast(pl.UInt32),
        )
        yield _from_to(counted, first_on, last_on)
        last_on = first_on - timedelta(days=1)


def _within(installations: pl.DataFrame, first_on: date, last_on: date) -> pl.DataFrame:
    return installations.filter(pl.col("installed_on").is_between(first_on, last_on))


def _from_to(counted: pl.DataFrame, first_on: date, last_on: date) -> pl.DataFrame:
    return counted.with_columns(
        planned_from_on=pl.lit(first_on), planned_to_on=pl.lit(last_on)
    )
