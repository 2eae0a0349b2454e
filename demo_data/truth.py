"""The truth table: one row per planted fact, with the number the generator used."""

from collections.abc import Iterator
from dataclasses import asdict

import polars as pl

from demo_data import plan
from demo_data.sites import SITES
from demo_data.stories import RATE, STORIES, Planted

TRUTH_SCHEMA = {
    "truth_id": pl.Int64,
    "kind": pl.String,
    "site_code": pl.String,
    "crew_code": pl.String,
    "inspector_code": pl.String,
    "anchor_size": pl.String,
    "check_name": pl.String,
    "column_name": pl.String,
    "direction": pl.String,
    "from_on": pl.Date,
    "to_on": pl.Date,
    "value": pl.Float64,
    "unit": pl.String,
    "words": pl.String,
}


def _background() -> Iterator[Planted]:
    for check_name, rates in plan.BACKGROUND.items():
        for anchor_size, rate in rates.items():
            yield Planted(
                "background",
                "Wherever no other row of this table speaks of the check.",
                value=rate,
                unit=RATE,
                anchor_size=anchor_size,
                check_name=check_name,
            )


def _lesser_background() -> Iterator[Planted]:
    for check_name, rate in plan.LESSER_BACKGROUND.items():
        yield Planted(
            "lesser_background",
            "Wherever no other row speaks of the check; of bit and tilt where they "
            "were measured, of spacing where no edge is near.",
            value=rate,
            unit=RATE,
            check_name=check_name,
        )


def _drilling() -> Iterator[Planted]:
    parts = {
        "intercept": plan.DRILL_INTERCEPT,
        "depth exponent": plan.DRILL_DEPTH_EXPONENT,
        "diameter exponent": plan.DRILL_DIAMETER_EXPONENT,
        "residual standard deviation": plan.DRILL_NOISE_SD,
        "site standard deviation": plan.DRILL_SITE_SD,
        "crew standard deviation": plan.DRILL_CREW_SD,
        "hollow bit effect": plan.DRILL_METHOD_EFFECTS["hollow_bit"],
        "wall effect": plan.DRILL_ORIENTATION_EFFECTS["wall"],
        "soffit effect": plan.DRILL_ORIENTATION_EFFECTS["soffit"],
    }
    for unit, value in parts.items():
        yield Planted(
            "drilling_time",
            "Log seconds on log millimetres of depth and of drill diameter.",
            value=value,
            unit=unit,
            column_name="drill_s",
        )
    yield Planted(
        "bit_wear",
        f"Every bit slows down so much per metre and is changed after "
        f"{plan.BIT_LIFE_M:g} m.",
        value=plan.WEAR_FRAC_PER_M,
        unit="fraction of drilling time per metre",
        column_name="drill_s",
    )


def _abandoned() -> Iterator[Planted]:
    words = "Abandoned with probability 1 - exp(-hazard (depth - cover))."
    yield Planted(
        "abandoned_by_depth",
        words,
        value=plan.REBAR_HAZARD_PER_MM,
        unit="hazard per mm",
        column_name="outcome",
    )
    yield Planted(
        "abandoned_by_depth",
        words,
        value=plan.REBAR_COVER_MM,
        unit="cover in mm",
        column_name="outcome",
    )


def _handling() -> Iterator[Planted]:
    size = plan.HANDLING_DIAMETER_MM
    for name, value in (
        ("cleaning_s", plan.CLEANING_MEAN_S),
        ("setting_s", plan.SETTING_MEAN_S),
    ):
        yield Planted(
            "handling_time",
            f"Mean seconds with a {size:g} mm bit, at the sites that time it; setting "
            "is in proportion to the bit's diameter, cleaning is alike.",
            value=value,
            unit="mean s",
            column_name=name,
        )


def _missing() -> Iterator[Planted]:
    for site in SITES:
        yield Planted(
            "missing_entries",
            "Share of each entry left blank at random, whatever its value.",
            value=site.missing_frac,
            unit="share of entries",
            site_code=site.code,
        )


def truth_table() -> pl.DataFrame:
    """Return the truth table (columns: TRUTH_SCHEMA).

    A code or date column that is null does not narrow the fact. The table does not
    depend on the seed: it holds what was asked of the generator, not what came out.
    """
    planted = [
        *STORIES,
        *_background(),
        *_lesser_background(),
        *_drilling(),
        *_abandoned(),
        *_handling(),
        *_missing(),
    ]
    rows = [
        {"truth_id": number, **asdict(fact)}
        for number, fact in enumerate(planted, start=1)
    ]
    return pl.DataFrame(rows, schema=TRUTH_SCHEMA)
