"""The anchor: its length, what it clamps, how far it stands out, how deep it sits."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from demo_data import grid
from demo_data.flaws import Flaws, touched
from demo_data.stories import Planted
from demo_data.streams import Flags, Floats, Streams

PACKED_FRAC = 0.25
PACKING_MM = (2.0, 15.0)
LEAST_FIXTURE_MM = 3.0
# A wrong anchor differs by whole tape steps: at least 15 mm, so that its mark differs.
WRONG_LENGTH_STEPS = (-4, -3, 4)
SPARE_EMBEDMENT_MM = 4.0
LACKING_EMBEDMENT_MM = (2.0, 12.0)

INCH_MM = 25.4
FIRST_MARK_IN = 1.5
WHOLE_INCHES_FROM_IN = 10.0


def length_marks(length_mm: Floats) -> pl.Series:
    """Return the letters A to Z that stand for lengths (trade-facts section 6).

    A starts at 1.5 in; half inches up to Q, whole inches from R (10 in) on.
    """
    inches = length_mm / INCH_MM
    halves = np.floor((inches - FIRST_MARK_IN) / 0.5)
    wholes = np.floor(inches - WHOLE_INCHES_FROM_IN) + ord("R") - ord("A")
    index = np.where(inches < WHOLE_INCHES_FROM_IN, halves, wholes).astype(np.int64)
    return pl.Series(np.array([chr(ord("A") + i) for i in range(26)])[index])


def add_anchor(
    rows: pl.DataFrame, flaws: Flaws, stories: Sequence[Planted], streams: Streams
) -> pl.DataFrame:
    """Add anchor_length_mm, length_mark, fixture, packing, projection, embedment_mm.

    Geometry (trade-facts section 1): the part in the concrete is length - (fixture +
    packing) - projection; effective embedment is that less (h_nom - h_ef). The
    projection is what the crew sets, so it carries the embedment's margin.
    """
    rng = streams.named("anchor")
    step = rows["depth_step_mm"].to_numpy()
    offset = _length_offset(rows, flaws, rng)
    length = grid.near(rows["required_anchor_length_mm"].to_numpy() + offset, step)
    clamped, packing = _clamped(rows, offset, step, rng)
    margin = _embedment_margin(rows, flaws, step, rng)
    is_uncounted = _ignores_packing(rows, stories) & (packing > 0)
    margin = np.where(is_uncounted, -packing, margin)
    projection = length - clamped - rows["nominal_embedment_mm"].to_numpy() - margin
    is_marked = pl.col("length_logged") == "mark"
    return rows.with_columns(
        anchor_length_mm=pl.when(~is_marked).then(pl.Series(length)),
        length_mark=pl.when(is_marked).then(length_marks(length)),
        fixture_thickness_mm=pl.Series(grid.near(clamped - packing, step)),
        packing_mm=pl.Series(packing),
        projection_mm=pl.Series(grid.near(projection, step)),
        embedment_mm=pl.when(pl.col("logs_embedment")).then(
            pl.Series(
                grid.near(rows["required_embedment_mm"].to_numpy() + margin, step)
            )
        ),
    )


def _length_offset(
    rows: pl.DataFrame, flaws: Flaws, rng: np.random.Generator
) -> Floats:
    steps = (
        rng.choice(WRONG_LENGTH_STEPS, rows.height) * rows["tape_step_mm"].to_numpy()
    )
    return np.asarray(np.where(flaws.logged["anchor_length"], steps, 0.0))


def _clamped(
    rows: pl.DataFrame, offset: Floats, step: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Return fixture and packing together, and the packing alone.

    A shorter anchor is taken where the fixture is thin: the nut must still fit.
    """
    thickest = rows["max_fixture_mm"].to_numpy() + np.minimum(offset, 0.0)
    clamped = grid.down(rng.uniform(LEAST_FIXTURE_MM + 1.0, thickest), step)
    is_packed = rng.random(rows.height) < PACKED_FRAC
    thickness = grid.near(rng.uniform(*PACKING_MM, rows.height), step)
    room = np.maximum(grid.down(clamped - LEAST_FIXTURE_MM, step), 0.0)
    return clamped, np.where(is_packed, np.minimum(thickness, room), 0.0)


def _embedment_margin(
    rows: pl.DataFrame, flaws: Flaws, step: Floats, rng: np.random.Generator
) -> Floats:
    spare = grid.down(rng.uniform(0.0, SPARE_EMBEDMENT_MM, rows.height), step)
    spare[flaws.hidden["embedment"]] = 0.0
    lacking = grid.near(rng.uniform(*LACKING_EMBEDMENT_MM, rows.height), step)
    return np.asarray(np.where(flaws.logged["embedment"], -lacking, spare))


def _ignores_packing(rows: pl.DataFrame, stories: Sequence[Planted]) -> Flags:
    ignores = np.zeros(rows.height, dtype=np.bool_)
    for fact in stories:
        if fact.kind == "packing_not_counted":
            ignores |= touched(rows, fact)
    return ignores
