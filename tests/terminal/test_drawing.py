"""The anchor drawn in signs: a sign's worth of mm, counted by hand."""

from typing import Any

import polars as pl

from dashboard.anchor_section import section_of
from dashboard.terminal.drawing import drawn_section

LOGGED: dict[str, Any] = {
    "anchor_length_mm": 110.0,
    "projection_mm": 12.0,
    "fixture_thickness_mm": 20.0,
    "packing_mm": 8.0,
    "embedment_mm": None,
    "hole_depth_mm": 80.0,
    "edge_1_mm": 60.0,
    "edge_2_mm": float("inf"),
}
# 110 - 28 - 12 = 70 in the concrete, less 10 to the tip: 60 mm of 68 required.
REQUIRED: dict[str, Any] = {
    "diameter_mm": 12.0,
    "anchor_length_mm": 110.0,
    "hole_depth_mm": 90.0,
    "embedment_mm": 68.0,
    "nominal_embedment_mm": 78.0,
    "tip_mm": 10.0,
    "min_edge_mm": 65.0,
}
# As the record says of these: 10 mm, 8 mm and 5 mm are missing.
VERDICTS = pl.DataFrame(
    [
        ("hole_depth", "nonconforming", -10.0),
        ("embedment", "nonconforming", -8.0),
        ("edge_distance", "nonconforming", -5.0),
    ],
    schema=["check", "verdict", "margin"],
    orient="row",
)


def drawn(**changes: Any) -> list[str]:
    """Return the lines of the drawing."""
    return drawn_section(section_of(LOGGED | changes, REQUIRED, VERDICTS))


def bars(**changes: Any) -> list[tuple[str, str, str]]:
    """Return name, signs left and right of the surface, and the figure's words."""
    found = []
    for line in drawn(**changes)[1:]:
        name, bar = line[:20].strip(), line[22:]
        left, _, right = bar.partition("|")
        found.append((name, left.strip(), right))
    return found


def test_a_sign_is_five_mm_throughout() -> None:
    # 40 above and 1.15 x 90 below are 143.5 mm: 2 mm a sign would take 72 signs.
    assert "5 mm a sign" in drawn()[0]
    assert bars() == [
        ("fixture, packing", "=" * 6, "  28 mm"),
        ("anchor", "#" * 8, "#" * 14),
        ("hole", "", "o" * 16 + "  80 mm"),
        ("required", "", "-" * 18 + "  90 mm"),
        ("embedment", "", "o" * 12 + "  60 mm"),
        ("required", "", "-" * 14 + "  68 mm"),
        ("nearest edge", "", "o" * 12 + "  60 mm"),
        ("required", "", "-" * 13 + "  65 mm"),
    ]


def test_what_is_not_logged_is_said_and_not_drawn() -> None:
    found = bars(packing_mm=None, hole_depth_mm=None, edge_1_mm=None, edge_2_mm=None)
    assert found[0][2] == "  20 mm, not all logged"
    assert found[1][2].endswith("drawn as specified")
    assert [found[row][2] for row in (2, 4, 6)] == ["  not logged"] * 3


def test_a_clear_edge_runs_out_of_the_drawing() -> None:
    assert bars(edge_1_mm=float("inf"))[6][2].endswith(">  clear")


def test_no_line_is_wider_than_a_terminal() -> None:
    assert max(map(len, drawn(edge_1_mm=5000.0))) <= 80
