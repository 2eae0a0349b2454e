"""The drawing of a record: to scale, logged beside required, gaps said so."""

from pathlib import Path
from typing import Any

import polars as pl

from dashboard import theme
from dashboard.anchor_section import section_of
from dashboard.app import route
from dashboard.figures.cross_section import cross_section
from tests.builders import Row, build_store
from tests.dashboard.components import text

# Invented M12: h_ef 68, h_nom 79, so 11 mm from the expansion element's end to the tip.
REQUIRED = {
    "tip_mm": 11.0,
    "diameter_mm": 12.0,
    "hole_depth_mm": 90.0,
    "embedment_mm": 68.0,
    "nominal_embedment_mm": 79.0,
    "anchor_length_mm": 110.0,
    "min_edge_mm": 65.0,
}
LOGGED: dict[str, Any] = {
    "anchor_length_mm": 110.0,
    "projection_mm": 11.0,
    "fixture_thickness_mm": 10.0,
    "packing_mm": 18.0,
    "embedment_mm": None,
    "hole_depth_mm": 92.0,
    "edge_1_mm": 70.0,
    "edge_2_mm": float("inf"),
}


def verdicts(**margins: float | None) -> pl.DataFrame:
    """Return verdicts by the sign of a margin; those not named are not known."""
    return pl.DataFrame(
        [
            {
                "check": check,
                "verdict": "unrecorded"
                if margins.get(check) is None
                else "conforming"
                if margins[check] >= 0  # type: ignore[operator]
                else "nonconforming",
                "margin": margins.get(check),
            }
            for check in ("hole_depth", "embedment", "edge_distance")
        ],
        schema_overrides={"margin": pl.Float64},
    )


JUDGED = verdicts(hole_depth=2, embedment=-8, edge_distance=5)


def drawn(judged: pl.DataFrame = JUDGED, **changes: Any) -> tuple[dict[str, Any], str]:
    """Return the figure's layout and all that is written in it."""
    section = section_of(LOGGED | changes, REQUIRED, judged)
    layout = cross_section(section).to_dict()["layout"]
    return layout, " ".join(label["text"] for label in layout["annotations"])


def test_the_bolt_ends_where_the_geometry_says() -> None:
    # 110 - (10 + 18) - 11 = 71 mm in the concrete, less 11 mm: 60 mm.
    section = section_of(LOGGED, REQUIRED, JUDGED)
    assert (section.tip_mm, section.embedment_mm, section.head_mm) == (71, 60, 39)
    layout, text = drawn()
    assert layout["yaxis"]["scaleanchor"] == "x"
    bolt = [s for s in layout["shapes"] if (s["y0"], s["y1"]) == (-71, 39)]
    assert len(bolt) == 1
    assert "\N{BLACK UP-POINTING TRIANGLE} h_ef" in text
    assert "68 required" in text and "90 required" in text
    assert "edge 70" in text and "65 at least" in text


def test_what_is_not_logged_is_drawn_dotted_and_said() -> None:
    layout, text = drawn(packing_mm=None, hole_depth_mm=None, edge_1_mm=None)
    assert "h_ef<br>not known" in text and "hole<br>not known" in text
    assert section_of(LOGGED | {"packing_mm": None}, REQUIRED, JUDGED).is_assumed
    bolt = [s for s in layout["shapes"] if s["y0"] == -79]
    assert [shape["line"]["dash"] for shape in bolt] == ["dot"]
    assert "clear" in text
    assert "edge not logged" in drawn(edge_1_mm=None, edge_2_mm=None)[1]


def test_a_measured_embedment_goes_before_the_derived_one() -> None:
    section = section_of(LOGGED | {"embedment_mm": 70.0}, REQUIRED, JUDGED)
    assert section.embedment_mm == 70


def test_the_drawing_agrees_with_the_verdicts() -> None:
    """At close spacing the pair asks for 85 mm; a float's width is no fault."""
    close = verdicts(edge_distance=-13.88, hole_depth=0, embedment=0)
    layout, text = drawn(close, edge_1_mm=71.12, hole_depth_mm=90 - 1e-12)
    assert "85 at least" in text
    dashed = [s for s in layout["shapes"] if s["x0"] == s["x1"] == -85]
    assert len(dashed) == 1
    edge = [s for s in layout["shapes"] if (s["x0"], s["x1"]) == (-71.12, 0)]
    assert [shape["line"]["color"] for shape in edge] == [theme.ABOVE]
    assert "\N{BLACK UP-POINTING TRIANGLE}" not in text


def test_of_an_abandoned_attempt_no_anchor_is_drawn(tmp_path: Path) -> None:
    rows: list[Row] = [{"outcome": "abandoned"}, {}]
    store = build_store(tmp_path, rows)
    shown = [
        text(route(store, "/records", f"?site=SITE-1&record=R{number}")[0])
        for number in (1, 2)
    ]
    assert ["expansion element ends" in page for page in shown] == [False, True]
    assert "an abandoned attempt carries nothing" in shown[0]
