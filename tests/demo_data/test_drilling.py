"""Drilling: the planted exponents and abandonment come out of an independent fit."""

from math import sqrt

import numpy as np
import polars as pl
import pytest

from demo_data.generator import Demo
from tests.demo_data.twin import total

Z = 4.5


@pytest.fixture(scope="module")
def timed(verdicts: pl.DataFrame) -> pl.DataFrame:
    """Return good holes with a depth and a time; reinforcement multiplies time."""
    return verdicts.filter(
        pl.col("outcome") != "abandoned", ~pl.col("rebar_hit")
    ).drop_nulls(["hole_depth_mm", "drill_s"])


def _planted(demo: Demo, unit: str, kind: str = "drilling_time") -> float:
    found = demo.truth.filter(pl.col("kind") == kind, pl.col("unit") == unit)
    return float(found["value"].item())


def _effects(rows: pl.DataFrame) -> pl.DataFrame:
    return rows.select(
        pl.col("hole_depth_mm").log().alias("depth exponent"),
        pl.col("req_drill_diameter_mm").log().alias("diameter exponent"),
        (pl.col("drill_method") == "hollow_bit").alias("hollow bit effect"),
        (pl.col("orientation") == "wall").alias("wall effect"),
        (pl.col("orientation") == "soffit").alias("soffit effect"),
    ).cast(pl.Float64)


def _fit(
    rows: pl.DataFrame, effects: pl.DataFrame
) -> tuple[dict[str, tuple[float, float]], float]:
    """Least squares of log seconds, an intercept a crew: estimate and error each.

    Deviations from the crews' means give the same slopes as a dummy for each crew
    (Frisch and Waugh 1933), with one degree of freedom less for each of them.
    """
    frame = effects.with_columns(
        crew_code=rows["crew_code"], log_s=rows["drill_s"].log()
    )
    names = effects.columns
    value = pl.col([*names, "log_s"])
    deviations = frame.select(value - value.mean().over("crew_code")).to_numpy()
    design, outcome = deviations[:, :-1], deviations[:, -1]
    inverse = np.linalg.inv(design.T @ design)
    estimate = inverse @ design.T @ outcome
    residual = outcome - design @ estimate
    free = len(outcome) - len(names) - rows["crew_code"].n_unique()
    sd = sqrt(float(residual @ residual) / free)
    errors = sd * np.sqrt(np.diag(inverse))
    pairs = zip(estimate.tolist(), errors.tolist(), strict=True)
    return dict(zip(names, pairs, strict=True)), sd


def test_exponents_and_effects(demo: Demo, timed: pl.DataFrame) -> None:
    """The crew whose bits wear is left out: its times rise with the date."""
    rows = timed.filter(pl.col("crew_code") != "C12")
    found, sd = _fit(rows, _effects(rows))
    assert len(found) == 5
    for name, (estimate, error) in found.items():
        assert abs(estimate - _planted(demo, name)) <= Z * error, name
    # Wear within a bit's life adds to the noise: 0 to 25 % is a deviation of 0.064.
    noise = _planted(demo, "residual standard deviation")
    assert sd == pytest.approx(sqrt(noise**2 + 0.064**2), rel=0.02)


def test_worn_bits_take_longer(demo: Demo, timed: pl.DataFrame) -> None:
    """log(1 + value * time passed) enters with the coefficient 1."""
    (fact,) = demo.truth.filter(pl.col("kind") == "bit_wear_time").to_dicts()
    rows = timed.filter(pl.col("crew_code") == fact["crew_code"])
    length = (fact["to_on"] - fact["from_on"]).days
    passed = (rows["installed_on"] - fact["from_on"]).dt.total_days() / length
    effects = _effects(rows).with_columns(wear=(fact["value"] * passed).log1p())
    found, _ = _fit(rows, effects)
    estimate, error = found["wear"]
    assert abs(estimate - 1) <= Z * error
    assert error < 0.1  # sharp enough to tell the drift from none


def test_abandoned_at_the_planted_hazard(demo: Demo, verdicts: pl.DataFrame) -> None:
    """Events by millimetres drilled below the cover: the likeliest constant hazard.

    An abandoned attempt stops where it met reinforcement, a good hole at its depth.
    """
    cover = _planted(demo, "cover in mm", "abandoned_by_depth")
    hazard = _planted(demo, "hazard per mm", "abandoned_by_depth")
    rows = verdicts.drop_nulls("hole_depth_mm")
    drilled_mm = total((rows["hole_depth_mm"] - cover).clip(lower_bound=0))
    events = total(rows["outcome"] == "abandoned")
    assert events > 5_000
    assert abs(events / drilled_mm - hazard) <= Z * hazard / sqrt(events)


def test_deeper_holes_are_abandoned_more_often(
    demo: Demo, verdicts: pl.DataFrame
) -> None:
    """By required depth, against 1 - exp(-hazard (depth - cover)) of each setting.

    Crews drill some 4 mm deeper than asked, up to 10: that is the upper end.
    """
    cover = _planted(demo, "cover in mm", "abandoned_by_depth")
    hazard = _planted(demo, "hazard per mm", "abandoned_by_depth")
    by_setting = verdicts.group_by("req_hole_depth_mm").agg(
        pl.len().alias("attempts"), share=(pl.col("outcome") == "abandoned").mean()
    )
    for depth, attempts, share in by_setting.rows():
        low, high = (1 - np.exp(-hazard * (depth + more - cover)) for more in (0, 10))
        error = Z * sqrt(high / attempts)
        assert low - error <= share <= high + error
    assert by_setting.select(pl.corr("req_hole_depth_mm", "share")).item() > 0.9
