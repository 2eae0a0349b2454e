"""The checks once more, in Polars and from trade-facts: a twin of queries/checks.

Nothing here imports queries or the generator's model: planted facts are looked for
with rules written down a second time.
"""

from math import sqrt

import polars as pl

CHECK_NAMES = (
    "anchor_length",
    "hole_depth",
    "embedment",
    "hole_cleaning",
    "edge_distance",
    "setting_torque",
)
# Tails of the normal distribution used as margins: 4.5 standard deviations are passed
# by chance once in 150,000 comparisons, and about 200 are made.
Z = 4.5
TINY = 1e-6


def judged(installations: pl.DataFrame, setting_data: pl.DataFrame) -> pl.DataFrame:
    """Add a column a check: True nonconforming, False conforming, null not judged."""
    required = setting_data.rename(
        lambda name: name if name in ("setting_code", "anchor_size") else f"req_{name}"
    )
    rows = installations.join(required, on="setting_code", how="left")
    verdicts = {
        "anchor_length": _anchor_length(),
        "hole_depth": pl.col("hole_depth_mm") < pl.col("req_hole_depth_mm") - TINY,
        "embedment": effective_embedment() < pl.col("req_embedment_mm") - TINY,
        "hole_cleaning": _hole_cleaning(),
        "edge_distance": _edge_distance(),
        "setting_torque": _outside_band(pl.col("setting_torque_nm")),
    }
    is_judged = pl.col("outcome") != "abandoned"
    return rows.with_columns(
        pl.when(is_judged).then(verdict).alias(name)
        for name, verdict in verdicts.items()
    )


def _anchor_length() -> pl.Expr:
    """Wrong anchors differ by 15 mm or more, so a mark decides like a length."""
    by_length = (
        pl.col("anchor_length_mm") - pl.col("req_anchor_length_mm")
    ).abs() > 1 + TINY
    by_mark = pl.col("length_mark") != pl.col("req_length_mark")
    return pl.coalesce(by_length, by_mark)


def effective_embedment() -> pl.Expr:
    """Measured, else L - (fixture + packing) - projection - (h_nom - h_ef)."""
    derived = (
        pl.col("anchor_length_mm")
        - pl.col("fixture_thickness_mm")
        - pl.col("packing_mm")
        - pl.col("projection_mm")
        - (pl.col("req_nominal_embedment_mm") - pl.col("req_embedment_mm"))
    )
    return pl.coalesce("embedment_mm", derived)


def _hole_cleaning() -> pl.Expr:
    nothing_asked = (pl.col("req_brushes_required") == 0) & (
        pl.col("req_blows_required") == 0
    )
    is_replaced = (
        pl.col("req_extraction_replaces_cleaning")
        & (pl.col("drill_method") == "hollow_bit")
        & pl.col("extraction_on").fill_null(value=False)
    )
    too_few = (pl.col("brush_count") < pl.col("req_brushes_required")) | (
        pl.col("blow_count") < pl.col("req_blows_required")
    )
    return pl.when(~nothing_asked & ~is_replaced).then(
        pl.coalesce(too_few, ~pl.col("cleaned"))
    )


def _edge_distance() -> pl.Expr:
    """s_req(c) = s_1 - (s_1 - s_min)(c - c_min)/(c_1 - c_min), or A or B outright."""
    edge = pl.min_horizontal("edge_1_mm", "edge_2_mm")
    spacing = pl.col("spacing_mm")
    c_min, s_1 = pl.col("req_min_edge_mm"), pl.col("req_at_spacing_mm")
    s_min, c_1 = pl.col("req_min_spacing_mm"), pl.col("req_at_edge_mm")
    on_line = s_1 - (s_1 - s_min) * (edge - c_min) / (c_1 - c_min)
    asked_spacing = (
        pl.when(edge >= c_1 - TINY)
        .then(s_min)
        .when(pl.col("req_edge_spacing_interpolates"))
        .then(on_line)
        .otherwise(s_1)
    )
    # From c_1 on a spacing under s_min is no fault of the edge.
    is_near = edge < c_1 - TINY
    return (edge < c_min - TINY) | (is_near & (spacing < asked_spacing - TINY))


def torque_limits() -> tuple[pl.Expr, pl.Expr]:
    """Return the published band, else 90 and 110 % of the setting torque."""
    torque = pl.col("req_setting_torque_nm")
    return (
        pl.coalesce("req_torque_low_nm", 0.9 * torque),
        pl.coalesce("req_torque_high_nm", 1.1 * torque),
    )


def _outside_band(torque: pl.Expr) -> pl.Expr:
    low, high = torque_limits()
    return (torque < low - TINY) | (torque > high + TINY)


def is_outside_band(torque: pl.Expr) -> pl.Expr:
    """Say whether a torque lies outside its setting data's band."""
    return _outside_band(torque)


def total(values: pl.Series) -> float:
    """Return a sum as a plain number."""
    return float(values.cast(pl.Float64).sum())


def share(values: pl.Series) -> float:
    """Return a mean, or the share of True, as a plain number; blanks do not count."""
    return total(values) / values.count()


def within_chance(hits: float, trials: int, probability: float) -> bool:
    """Say whether hits of trials agree with a probability, up to Z deviations."""
    expected = trials * probability
    return within_sum(hits, expected, expected * (1 - probability))


def within_sum(hits: float, expected: float, variance: float) -> bool:
    """Say whether a sum of independent trials agrees with its expectation."""
    return abs(hits - expected) <= Z * sqrt(variance) + 1


def touched_by(fact: dict[str, object]) -> pl.Expr:
    """Return whether a row of the truth table speaks of an installation."""
    narrowed = [
        pl.col(name) == fact[name]
        for name in ("site_code", "crew_code", "inspector_code", "anchor_size")
        if fact[name] is not None
    ]
    dates = pl.col("installed_on").is_between(
        pl.lit(fact["from_on"]), pl.lit(fact["to_on"])
    )
    return pl.all_horizontal(dates, *narrowed)
