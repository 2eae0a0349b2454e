"""One anchor cut through, to scale: as logged, with what was required beside it."""

from typing import Any

import plotly.graph_objects as go

from dashboard import theme, words
from dashboard.anchor_section import Section
from dashboard.figures.base import draw

HEIGHT = 400
CONCRETE = "rgba(122, 133, 140, 0.20)"
PACKING = "rgba(160, 125, 28, 0.40)"
STEEL = "rgba(122, 133, 140, 0.75)"


def cross_section(drawn: Section) -> go.Figure:
    """Return the drawing; both axes in mm at one scale, the anchor's axis at 0."""
    left = 0.9 * drawn.depth_mm
    if drawn.is_edge_near and drawn.edge_mm:
        left = drawn.edge_mm
    margin = 0.12 * drawn.depth_mm
    right = 1.6 * drawn.depth_mm
    top = max(drawn.head_mm, drawn.clamped_mm) + 3 * margin
    hidden = {"visible": False, "fixedrange": True}
    return draw(
        [{"type": "scatter", "x": [0], "y": [0], "mode": "none", "hoverinfo": "skip"}],
        height=HEIGHT,
        xaxis=hidden | {"range": [-left - 2 * margin, right], "constrain": "domain"},
        yaxis=hidden
        | {
            "range": [-drawn.depth_mm - 2 * margin, top],
            "scaleanchor": "x",
            "constrain": "domain",
        },
        shapes=[*_concrete(drawn, left), *_clamped(drawn), *_bolt(drawn)]
        + [shape for mark in _marks(drawn) for shape in mark[0]],
        annotations=[label for mark in _marks(drawn) for label in mark[1]]
        + _names(drawn, left),
    )


def _box(x0: float, x1: float, y0: float, y1: float, **look: Any) -> dict[str, Any]:
    return {
        "type": "rect",
        "x0": x0,
        "x1": x1,
        "y0": y0,
        "y1": y1,
        "line": {"width": 0},
        "layer": "below",
    } | look


def _line(
    x0: float, x1: float, y0: float, y1: float, colour: str, dash: str = "solid"
) -> dict[str, Any]:
    return {
        "type": "line",
        "x0": x0,
        "x1": x1,
        "y0": y0,
        "y1": y1,
        "line": {"color": colour, "width": 1.6, "dash": dash},
    }


def _concrete(drawn: Section, left: float) -> list[dict[str, Any]]:
    """The concrete around the hole; an edge that is not near is left open."""
    half = drawn.diameter_mm / 2
    depth = drawn.hole_mm or drawn.required_hole_mm
    bottom, right = -drawn.depth_mm, 0.9 * drawn.depth_mm
    boxes = [(-left, -half, 0.0), (half, right, 0.0), (-half, half, -depth)]
    shapes = [_box(x0, x1, bottom, y1, fillcolor=CONCRETE) for x0, x1, y1 in boxes]
    shapes.append(_line(-left, right, 0, 0, theme.REFERENCE))
    dash = "solid" if drawn.hole_mm is not None else "dot"
    for side in (-half, half):
        shapes.append(_line(side, side, 0, -depth, theme.REFERENCE, dash))
    shapes.append(_line(-half, half, -depth, -depth, theme.REFERENCE, dash))
    if drawn.is_edge_near:
        shapes.append(_line(-left, -left, 0, bottom, theme.REFERENCE))
    return shapes


def _clamped(drawn: Section) -> list[dict[str, Any]]:
    width, packing = 0.25 * drawn.depth_mm, drawn.packing_mm or 0
    look = {"line": {"color": theme.ACCENT, "width": 1}}
    shapes = [_box(-width, width, packing, drawn.clamped_mm, fillcolor=theme.BAND)]
    shapes[0] |= look
    if packing:
        line = {"color": theme.UNKNOWN, "width": 1, "dash": "dot"}
        shapes.append(_box(-width, width, 0, packing, fillcolor=PACKING, line=line))
    return shapes


def _bolt(drawn: Section) -> list[dict[str, Any]]:
    """Bolt, nut and expansion element; outlined only where it is drawn as specified."""
    d = drawn.diameter_mm
    dash = "dot" if drawn.is_assumed else "solid"
    line = {"color": theme.REFERENCE, "width": 1.5, "dash": dash}
    fill = "rgba(0,0,0,0)" if drawn.is_assumed else STEEL
    look: dict[str, Any] = {"fillcolor": fill, "line": line, "layer": "above"}
    nut = min(0.8 * d, max(drawn.head_mm - drawn.clamped_mm, 0.0))
    lower_end = drawn.embedment_mm
    if lower_end is None:
        lower_end = drawn.required_embedment_mm
    return [
        _box(-0.42 * d, 0.42 * d, -drawn.tip_mm, drawn.head_mm, **look),
        _box(-0.85 * d, 0.85 * d, drawn.clamped_mm, drawn.clamped_mm + nut, **look),
        _box(-0.5 * d, 0.5 * d, -lower_end, -max(lower_end - 1.2 * d, 0.0), **look),
    ]


Mark = tuple[list[dict[str, Any]], list[dict[str, Any]]]


def _marks(drawn: Section) -> list[Mark]:
    """Depths on the right, logged beside required; the edge on the left."""
    reach = drawn.depth_mm
    marks = [
        _depth(
            0.56 * reach,
            drawn.embedment_mm,
            drawn.required_embedment_mm,
            "h_ef",
            is_short=drawn.is_embedment_short,
        ),
        _depth(
            1.18 * reach,
            drawn.hole_mm,
            drawn.required_hole_mm,
            "hole",
            is_short=drawn.is_hole_short,
        ),
    ]
    if drawn.is_edge_near and drawn.edge_mm:
        y = -drawn.depth_mm - 0.08 * reach
        colour = theme.ABOVE if drawn.is_edge_close else theme.ACCENT
        marks.append(
            (
                [
                    _line(-drawn.edge_mm, 0, y, y, colour),
                    _line(
                        -drawn.required_edge_mm,
                        -drawn.required_edge_mm,
                        0,
                        -drawn.depth_mm,
                        theme.REFERENCE,
                        "dash",
                    ),
                ],
                [
                    _label(
                        -drawn.edge_mm / 2,
                        y,
                        _edge_words(drawn.edge_mm, drawn.required_edge_mm),
                        yanchor="top",
                    )
                ],
            )
        )
    return marks


def _edge_words(edge_mm: float, required_mm: float) -> str:
    return (
        f"edge {words.quantity(edge_mm, 'mm', beside=(required_mm,))}, "
        f"{words.figure(required_mm, 'mm', beside=(edge_mm,))} at least"
    )


def _depth(
    x: float, logged: float | None, required: float, name: str, *, is_short: bool
) -> Mark:
    """Return a depth as logged (a full line) and as required (a dashed one)."""
    apart = 0.035 * required
    colour = theme.ABOVE if is_short else theme.ACCENT
    shapes = [_line(x + apart, x + apart, 0, -required, theme.REFERENCE, "dash")]
    shapes.append(_line(0, x + apart, -required, -required, theme.REFERENCE, "dash"))
    text = f"{name}<br>not known"
    if logged is not None:
        shapes.append(_line(x, x, 0, -max(logged, 0.0), colour))
        mark = "\N{BLACK UP-POINTING TRIANGLE} " if is_short else ""
        depth = words.quantity(logged, "mm", beside=(required,))
        text = f"{mark}{name}<br><b>{depth}</b>"
    asked = words.figure(required, "mm", beside=(logged,))
    return shapes, [
        _label(x + apart, 0, f"{text}<br>{asked} required", yanchor="bottom")
    ]


def _names(drawn: Section, left: float) -> list[dict[str, Any]]:
    """Name the parts that are there, left of the anchor."""
    names = [
        f"{name} {words.quantity(thickness, 'mm')}"
        for name, thickness in (
            ("fixture", drawn.fixture_mm),
            ("packing", drawn.packing_mm),
        )
        if thickness
    ]
    # One text of two lines: two texts would lie on each other where both are thin.
    labels = [
        _label(
            -0.28 * drawn.depth_mm,
            drawn.clamped_mm / 2,
            "<br>".join(names),
            xanchor="right",
        )
    ]
    if not drawn.is_edge_near:
        text = (
            "edge not logged"
            if drawn.edge_mm is None
            else f"edge {words.quantity(drawn.edge_mm, 'mm')}"
        )
        y = -0.9 * drawn.depth_mm
        labels.append(_label(-0.5 * left, y, f"\N{LEFTWARDS ARROW} {text}"))
    return labels


def _label(x: float, y: float, text: str, **look: str) -> dict[str, Any]:
    return {
        "x": x,
        "y": y,
        "text": text,
        "showarrow": False,
        "font": {"size": 11},
        "align": "center",
    } | look
