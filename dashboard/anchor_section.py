"""One anchor cut through: the lengths that a drawing of it needs, as logged."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

import polars as pl

# An edge farther off than this many drawn depths is only named.
FARTHEST_EDGE = 1.0


@dataclass(frozen=True)
class Section:
    """What is drawn, mm; depths count down from the concrete's surface.

    None is what the log does not give. `tip_mm` is the bolt's lower end, `is_assumed`
    says that it is drawn as specified, since the log does not give it. Whether a length
    is too short is what its verdict says; the edge required is what decided there,
    with the logged spacing.
    """

    diameter_mm: float
    hole_mm: float | None
    required_hole_mm: float
    embedment_mm: float | None
    required_embedment_mm: float
    tip_mm: float
    head_mm: float
    is_assumed: bool
    fixture_mm: float | None
    packing_mm: float | None
    edge_mm: float | None
    required_edge_mm: float
    is_hole_short: bool
    is_embedment_short: bool
    is_edge_close: bool

    @property
    def depth_mm(self) -> float:
        """How deep the drawing goes."""
        depths = (self.hole_mm or 0, self.required_hole_mm, self.tip_mm)
        return 1.15 * max(depths)

    @property
    def clamped_mm(self) -> float:
        """Thickness of fixture and packing, as far as logged."""
        return (self.fixture_mm or 0) + (self.packing_mm or 0)

    @property
    def is_edge_near(self) -> bool:
        """Whether the edge is close enough to draw."""
        return self.edge_mm is not None and self.edge_mm <= (
            FARTHEST_EDGE * self.depth_mm
        )


def section_of(
    logged: Mapping[str, Any], required: Mapping[str, Any], verdicts: pl.DataFrame
) -> Section:
    """Return the section of a record (`Record.logged`, `.required` and `.verdicts`)."""
    judged = {row["check"]: row for row in verdicts.to_dicts()}
    tip_part: float = required["tip_mm"]
    length, projection = logged["anchor_length_mm"], logged["projection_mm"]
    fixture, packing = logged["fixture_thickness_mm"], logged["packing_mm"]
    clamped = (fixture or 0) + (packing or 0)
    measured = logged["embedment_mm"]
    tip = None
    if None not in (length, projection, fixture, packing):
        tip = length - clamped - projection
    if measured is not None:
        tip = measured + tip_part
    drawn = required["nominal_embedment_mm"] if tip is None else max(tip, 0.0)
    above = projection
    if above is None:
        above = max((length or required["anchor_length_mm"]) - drawn - clamped, 5.0)
    edges = [
        edge for edge in (logged["edge_1_mm"], logged["edge_2_mm"]) if edge is not None
    ]
    nearest = min(edges, default=None)
    edge_margin = judged["edge_distance"]["margin"]
    needs_edge = required["min_edge_mm"]
    if nearest is not None and edge_margin is not None and isfinite(edge_margin):
        needs_edge = round(nearest - edge_margin, 6)

    def is_short(check: str) -> bool:
        return bool(judged[check]["verdict"] == "nonconforming")

    return Section(
        diameter_mm=required["diameter_mm"],
        hole_mm=logged["hole_depth_mm"],
        required_hole_mm=required["hole_depth_mm"],
        embedment_mm=None if tip is None else tip - tip_part,
        required_embedment_mm=required["embedment_mm"],
        tip_mm=drawn,
        head_mm=clamped + above,
        is_assumed=tip is None,
        fixture_mm=fixture,
        packing_mm=packing,
        edge_mm=nearest,
        required_edge_mm=needs_edge,
        is_hole_short=is_short("hole_depth"),
        is_embedment_short=is_short("embedment"),
        is_edge_close=is_short("edge_distance"),
    )
