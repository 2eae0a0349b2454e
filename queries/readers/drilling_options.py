"""Embedments that an engineer offers, side by side: what each costs in drilling."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import duckdb
import polars as pl

from queries.errors import FirmsetError
from queries.readers.drilling_model import DrillingData
from queries.readers.drilling_support import Asked, Offered, Supported, support
from queries.readers.handling import handling_of, seconds
from queries.readers.rates import require_known
from queries.statistics.drilling_model import DrillingModel, Lack
from queries.statistics.drilling_prediction import (
    Draws,
    Moments,
    draw,
    moments,
    one_hole,
    quantile,
    total,
)
from queries.statistics.vibration import (
    ACTION_POINTS,
    LARGEST_M_S2,
    LIMIT_POINTS,
    exposure_points,
    holes_until,
)

OPTIONS_CAUTION = (
    "This compares the embedments that the responsible engineer offers, and proposes "
    "none: a shallower hole is quicker, and holds less. The cone ratio is indicative "
    "(embedment ratio to the power 1.5, EN 1992-4 7.2.1.4, ACI 318-19 17.6.2, from "
    "memory): no capacity, and no count of anchors. Pull-out, steel, edges and spacing "
    "may decide instead."
)
VIBRATION_CAUTION = (
    "Points are of trigger time only, at the vibration value given; a declared value "
    "is usually below the one in use (HSE RR1164). They replace no assessment."
)
SCHEMA = {
    "anchor_size": pl.String,
    "embedment_mm": pl.Float64,
    "hole_depth_mm": pl.Float64,
    "drilled_mm": pl.Float64,
    "drill_method": pl.String,
    "orientation": pl.String,
    "p50_min": pl.Float64,
    "p80_min": pl.Float64,
    "low_min": pl.Float64,
    "high_min": pl.Float64,
    "one_hole_p50_min": pl.Float64,
    "one_hole_p80_min": pl.Float64,
    "completed_only_min": pl.Float64,
    "abandoned_per_100": pl.Float64,
    "handling_s": pl.Float64,
    "hours_per_100_p50": pl.Float64,
    "hours_per_100_p80": pl.Float64,
    "hours_per_100_with_handling": pl.Float64,
    "saved_h_per_100": pl.Float64,
    "saved_low_h": pl.Float64,
    "saved_high_h": pl.Float64,
    "bit_m_per_100": pl.Float64,
    "cone_ratio": pl.Float64,
    "min_per_ratio": pl.Float64,
    "points_per_shift": pl.Float64,
    "holes_to_action": pl.Float64,
    "holes_to_limit": pl.Float64,
    "holes_like_it": pl.Int64,
    "sites_like_it": pl.Int64,
    "note": pl.String,
}


@dataclass(frozen=True)
class Comparison:
    """Embedments compared: `options`, one row each (SCHEMA); blank where refused.

    p50, p80 and the 80 % interval low to high are of the mean minutes per good hole of
    a crew on the site; one_hole_* of a single hole. saved_* is the reference's hours
    per 100 less the option's, with its 80 % interval. `reference_mm` has cone ratio 1.
    `vibration_m_s2` may be None; points are at `holes_per_shift`. handling_s are mean
    seconds of cleaning and setting where logged, in none of the others but
    hours_per_100_with_handling, the drilling's P50 and those means; `handling` says of
    which anchors (`handling_time.sql`).
    """

    options: pl.DataFrame
    site_code: str | None
    reference_mm: float
    vibration_m_s2: float | None
    holes_per_shift: float
    handling: pl.DataFrame


def read_holes_per_shift(con: duckdb.DuckDBPyConnection) -> float:
    """Return the median of the holes that a crew has logged on a day."""
    rows = con.execute(
        """
        select coalesce(median(holes), 0) from (
            select sum(installations) as holes from tally
            group by site_code, crew_code, installed_on
        )
        """
    ).fetchall()
    return float(rows[0][0])


def site_number(model: DrillingModel, site_code: str | None) -> int | None:
    """Return a site's number in the model; None is a new site.

    Raises FirmsetError for a site without a usable drilling time.
    """
    if site_code is None:
        return None
    require_known("site", [site_code], model.labels.sites)
    return model.labels.sites.index(site_code)


def need_model(data: DrillingData) -> DrillingModel:
    """Return the model; raises FirmsetError where there is none."""
    if isinstance(data.fitted, Lack):
        raise FirmsetError(f"no model of drilling time: expected {data.fitted.value}")
    return data.fitted


def compare_embedments(
    data: DrillingData,
    offered: Offered,
    asked: Sequence[Asked],
    *,
    site_code: str | None,
    holes_per_shift: float,
    reference_mm: float | None = None,
    vibration_m_s2: float | None = None,
    crews: int = 1,
) -> Comparison:
    """Return the embedments asked for, side by side, on a known site or a new one.

    The reference is one of them, the deepest within the data unless named. An embedment
    outside the data has its reason in `note` and nothing else; raises FirmsetError
    where all are.
    """
    model = need_model(data)
    draws = draw(model, site_number(model, site_code), crews=crews)
    _check_vibration(vibration_m_s2)
    held, refused = _sorted_out(data, model, offered, asked)
    reference = _reference(asked, held, reference_mm)
    weighed = {one: moments(model, draws, found.hole) for one, found in held.items()}
    of_reference = next(
        (here for one, here in weighed.items() if one.embedment_mm == reference), None
    )
    rows: list[dict[str, object]] = []
    for one in sorted(asked, key=lambda one: one.embedment_mm):
        row: dict[str, object] = {
            "anchor_size": one.anchor_size,
            "embedment_mm": one.embedment_mm,
            "orientation": one.orientation or "as logged",
            "cone_ratio": (one.embedment_mm / reference) ** 1.5,
            "note": refused.get(one, ""),
        }
        if one in held:
            here = weighed[one]
            row |= _times(model, draws, held[one], here)
            row["handling_s"] = seconds(_handling(data, held[one]))
            row |= _vibration(here, vibration_m_s2, holes_per_shift)
            row |= _saved(of_reference, here)
        rows.append(row)
    options = pl.DataFrame(rows, schema=SCHEMA).with_columns(
        (pl.col("p50_min") / pl.col("cone_ratio")).alias("min_per_ratio"),
        (pl.col("hours_per_100_p50") + pl.col("handling_s") * 100 / 3600).alias(
            "hours_per_100_with_handling"
        ),
    )
    handling = pl.concat([_handling(data, found) for found in held.values()]).unique(
        maintain_order=True
    )
    return Comparison(
        options, site_code, reference, vibration_m_s2, holes_per_shift, handling
    )


def _handling(data: DrillingData, found: Supported) -> pl.DataFrame:
    return handling_of(data, found.asked.anchor_size, found.drill_method)


def _check_vibration(vibration_m_s2: float | None) -> None:
    if vibration_m_s2 is not None and not 0 < vibration_m_s2 <= LARGEST_M_S2:
        raise FirmsetError(
            f"vibration {vibration_m_s2:g}: expected m/s² above 0, at most "
            f"{LARGEST_M_S2:g}"
        )


def _sorted_out(
    data: DrillingData,
    model: DrillingModel,
    offered: Offered,
    asked: Sequence[Asked],
) -> tuple[dict[Asked, Supported], dict[Asked, str]]:
    """Return what the data hold, and why they do not hold the rest."""
    held: dict[Asked, Supported] = {}
    refused: dict[Asked, str] = {}
    for one in asked:
        try:
            held[one] = support(data, model, offered, one)
        except FirmsetError as error:
            refused[one] = str(error)
    if not held:
        raise FirmsetError("; ".join(refused.values()) or "expected an embedment")
    return held, refused


def _reference(
    asked: Sequence[Asked], held: Collection[Asked], reference_mm: float | None
) -> float:
    if reference_mm is None:
        return max(one.embedment_mm for one in held)
    offered = [one.embedment_mm for one in asked]
    if reference_mm not in offered:
        raise FirmsetError(
            f"reference {reference_mm:g}: expected one of the embedments compared: "
            + ", ".join(f"{one:g}" for one in offered)
        )
    return reference_mm


def _times(
    model: DrillingModel, draws: Draws, found: Supported, here: Moments
) -> dict[str, object]:
    low, middle, p80, high = quantile(here.mean_s / 60, 0.1, 0.5, 0.8, 0.9)
    one_p50, one_p80 = quantile(one_hole(model, draws, found.hole) / 60, 0.5, 0.8)
    _, hundred = total(model, draws, [(found.hole, 100)])
    h_p50, h_p80 = quantile(hundred / 3600, 0.5, 0.8)
    odds = float(here.odds.mean())
    middles, shares = model.abandonment.given_up_at(found.depth_mm)
    return {
        "hole_depth_mm": found.required_mm,
        "drilled_mm": found.depth_mm,
        "drill_method": found.drill_method,
        "p50_min": middle,
        "p80_min": p80,
        "low_min": low,
        "high_min": high,
        "one_hole_p50_min": one_p50,
        "one_hole_p80_min": one_p80,
        "completed_only_min": float(quantile(here.completed_s / 60, 0.5)[0]),
        "abandoned_per_100": 100 * odds,
        "hours_per_100_p50": h_p50,
        "hours_per_100_p80": h_p80,
        "bit_m_per_100": (found.depth_mm + odds * float(middles @ shares)) / 10,
        "holes_like_it": found.holes,
        "sites_like_it": found.sites,
        "note": found.note,
    }


def _saved(reference: Moments | None, here: Moments) -> dict[str, object]:
    """Return what an option saves against the reference; nothing for itself."""
    if reference is None or reference is here:
        return {}
    low, middle, high = quantile((reference.mean_s - here.mean_s) / 36, 0.1, 0.5, 0.9)
    return {"saved_h_per_100": middle, "saved_low_h": low, "saved_high_h": high}


def _vibration(
    here: Moments, vibration_m_s2: float | None, holes_per_shift: float
) -> dict[str, object]:
    if vibration_m_s2 is None:
        return {}
    hole_s = float(quantile(here.mean_s, 0.5)[0])
    return {
        "points_per_shift": exposure_points(vibration_m_s2, hole_s * holes_per_shift),
        "holes_to_action": holes_until(ACTION_POINTS, vibration_m_s2, hole_s),
        "holes_to_limit": holes_until(LIMIT_POINTS, vibration_m_s2, hole_s),
    }
