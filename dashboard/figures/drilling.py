"""Drilling seconds against hole depth, and how many holes are lost on the way."""

from collections.abc import Mapping
from typing import Any

import plotly.graph_objects as go
import polars as pl

from dashboard import theme, words
from dashboard.figures.base import axis, draw, say_instead
from dashboard.units import scaled, unit_shown
from queries.statistics.drilling_effects import Band

PANEL_HEIGHT = 330
# A tenth and a ninetieth percentile of fewer holes than this are single holes.
FEW = 10
# What a panel leaves free of its size's depths, two thirds of it before them.
MARGIN_MM = 10.0
# `_is_open` of a frame.
_OPEN = (pl.col("timed_holes") < FEW) | (4 * pl.col("abandoned") > pl.col("attempts"))
SECONDS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]


def shared_log_s(depths: pl.DataFrame) -> list[float]:
    """Return the range of log10 seconds that all panels share."""
    shown = depths.filter(pl.col("timed_holes") >= FEW)
    if shown.is_empty():
        return [0, 2]
    low, high = shown.select(
        pl.col("p10_s").min().log10(), pl.col("p90_s").max().log10().alias("high")
    ).row(0)
    return [low - 0.05, high + 0.05]


def depth_ranges(depths: pl.DataFrame) -> dict[str, list[float]]:
    """Return the range of depth (mm) of each size's panel.

    Each ends a little beyond its own holes, and all are as wide as the widest size
    needs for its joined steps (not `_is_open`; any where a size has no other): one
    scale, so that slopes compare. On one range from 0 each size would fill an eighth
    of its panel.
    """
    if depths.is_empty():
        return {}
    joined = depths.filter(~_OPEN)
    bare = depths.filter(~pl.col("anchor_size").is_in(joined["anchor_size"].to_list()))
    ends = (
        pl.concat([joined, bare])
        .group_by("anchor_size")
        .agg(pl.col("depth_from_mm").min(), pl.col("depth_to_mm").max())
        .rows()
    )
    has_joined = set(joined["anchor_size"]) or {size for size, _, _ in ends}
    width = max(deep - shallow for size, shallow, deep in ends if size in has_joined)
    lows = {size: max(deep - width - MARGIN_MM, 0.0) for size, _, deep in ends}
    return {size: [low, low + width + 1.5 * MARGIN_MM] for size, low in lows.items()}


def drilling_panel(
    depths: pl.DataFrame,
    *,
    depth_mm: list[float],
    log_s: list[float],
    lost_top: float,
    bands: Mapping[str, Band] | None = None,
) -> go.Figure:
    """Return one size: seconds (P10 to P90 band, median) and % of holes lost by depth.

    `depths`: drill_method, depth_from_mm, depth_to_mm, timed_holes, p10_s, p50_s,
    p90_s, attempts, abandoned, reached, lost_share (`life_table.add_lost`); 10 mm
    steps of drilled depth. `depth_mm`: the size's axis (`depth_ranges`); `log_s`,
    `lost_top` (fraction): the axes all panels share; `bands`: the model's P10, P50 and
    P90 by method.
    """
    if depths.is_empty():
        return say_instead("No drilled hole matches these filters.")
    traces: list[dict[str, Any]] = []
    for method in depths["drill_method"].unique(maintain_order=True):
        rows = depths.filter(pl.col("drill_method") == method).to_dicts()
        traces += [
            *_band(rows, method),
            *_median(rows, method),
            _lost(rows, method),
        ]
        if bands and method in bands:
            traces.append(_model(bands[method], method))
    return draw(
        traces,
        height=PANEL_HEIGHT,
        xaxis=axis(
            f"Depth drilled, {unit_shown('mm')}",
            range=[scaled(end, "mm") for end in depth_mm],
            anchor="y2",
            nticks=8,
        ),
        yaxis=axis(
            "Drilling time, s (log scale)",
            type="log",
            range=log_s,
            domain=[0.4, 1],
            tickvals=SECONDS,
            ticktext=[str(value) for value in SECONDS],
        ),
        yaxis2=axis(
            "Holes lost, %",
            domain=[0, 0.27],
            range=[-2 * lost_top, 100 * lost_top],
            nticks=4,
        ),
        margin={"l": 4, "r": 10, "t": 6, "b": 4},
    )


def shared_lost_top(depths: pl.DataFrame) -> float:
    """Return the end (fraction) of the axis of lost holes that all panels share."""
    shown = depths.filter(pl.col("reached") >= FEW)
    highest = shown.select(pl.col("lost_share").max()).item() if len(shown) else None
    return min(max(1.1 * (highest or 0), 0.02), 1.0)


def style(method: str) -> tuple[str, str, str]:
    """Return colour, line and mark of a method."""
    return theme.METHOD_STYLES.get(method, theme.OTHER_METHOD_STYLE)


def _middle(row: dict[str, Any]) -> float:
    return scaled(float(row["depth_from_mm"] + row["depth_to_mm"]) / 2, "mm")


def _band(rows: list[dict[str, Any]], method: str) -> list[dict[str, Any]]:
    """One closed outline a run of neighbouring steps: a gap stays a gap."""
    colour = style(method)[0]
    x: list[float | None] = []
    y: list[float | None] = []
    for run in _runs([row for row in rows if not _is_open(row)]):
        there = [_middle(row) for row in run]
        x += [*there, *reversed(there), there[0], None]
        y += [
            *(row["p90_s"] for row in run),
            *(row["p10_s"] for row in reversed(run)),
            run[0]["p90_s"],
            None,
        ]
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": f"{words.method(method)}, P10 to P90",
            "x": x,
            "y": y,
            "fill": "toself",
            "fillcolor": _faint(colour),
            "line": {"width": 0.5, "color": _faint(colour)},
            "hoverinfo": "skip",
        }
    ]


def _runs(rows: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    runs: list[list[dict[str, Any]]] = []
    for row in rows:
        if runs and runs[-1][-1]["depth_to_mm"] == row["depth_from_mm"]:
            runs[-1].append(row)
        else:
            runs.append([row])
    return runs


def _faint(colour: str) -> str:
    red, green, blue = (int(colour[start : start + 2], 16) for start in (1, 3, 5))
    return f"rgba({red}, {green}, {blue}, 0.18)"


def _median(rows: list[dict[str, Any]], method: str) -> list[dict[str, Any]]:
    """The medians, joined; those of `_is_open` steps stand apart as open marks."""
    colour, dash, symbol = style(method)
    timed = [row for row in rows if row["p50_s"] is not None]
    closed = [row for row in timed if not _is_open(row)]
    apart = [row for row in timed if _is_open(row)]
    return [
        {
            "mode": "lines+markers",
            "name": f"{words.method(method)}, median",
            "line": {"color": colour, "width": 1.8, "dash": dash},
            "marker": {"symbol": symbol, "color": colour, "size": 6},
        }
        | _medians(closed, method),
        {
            "mode": "markers",
            "name": f"{words.method(method)}, few or often abandoned",
            "marker": {
                "symbol": f"{symbol}-open",
                "color": theme.REFERENCE,
                "size": 4,
                "opacity": 0.5,
            },
        }
        | _medians(apart, method),
    ]


def _medians(rows: list[dict[str, Any]], method: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "x": [_middle(row) for row in rows],
        "y": [row["p50_s"] for row in rows],
        "hovertext": [_tooltip(row, method) for row in rows],
        "hoverinfo": "text",
    }


def _model(found: Band, method: str) -> dict[str, Any]:
    """The model's three lines as one trace, gaps between them."""
    colour, dash, _ = style(method)
    x: list[float | None] = []
    y: list[float | None] = []
    for seconds in (found.p10_s, found.p50_s, found.p90_s):
        x += [*(scaled(mm, "mm") for mm in found.depth_mm.tolist()), None]
        y += [*seconds.tolist(), None]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": f"{words.method(method)}, model on a new site",
        "x": x,
        "y": y,
        "line": {"color": colour, "width": 0.9, "dash": dash},
        "hoverinfo": "skip",
    }


def _lost(rows: list[dict[str, Any]], method: str) -> dict[str, Any]:
    colour, dash, symbol = style(method)
    enough = [row for row in rows if row["reached"] >= FEW]
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": f"{words.method(method)}, lost",
        "x": [scaled(row["depth_to_mm"], "mm") for row in enough],
        "y": [100 * row["lost_share"] for row in enough],
        "line": {"color": colour, "width": 1.4, "dash": dash},
        "marker": {"symbol": symbol, "color": colour, "size": 4},
        "xaxis": "x",
        "yaxis": "y2",
        "hovertext": [_lost_tooltip(row, method) for row in enough],
        "hoverinfo": "text",
    }


def _lost_tooltip(row: dict[str, Any], method: str) -> str:
    depth = words.quantity(row["depth_to_mm"], "mm", 0)
    return (
        f"<b>{words.method(method)}, by {depth}</b><br>"
        f"{words.percent(row['lost_share'])} of holes lost<br>"
        f"{words.share(row['abandoned'], row['reached'])} that got to "
        f"{words.quantity(row['depth_from_mm'], 'mm', 0)} were abandoned in this step"
    )


def _is_open(row: dict[str, Any]) -> bool:
    """Few holes, or over a quarter abandoned: the time to give up, not to finish."""
    return bool(row["timed_holes"] < FEW or 4 * row["abandoned"] > row["attempts"])


def _step(row: dict[str, Any]) -> str:
    start, end = row["depth_from_mm"], row["depth_to_mm"]
    return f"{words.figure(start, 'mm', 0)} to {words.quantity(end, 'mm', 0)}"


def _tooltip(row: dict[str, Any], method: str) -> str:
    return (
        f"<b>{words.method(method)}, {_step(row)}</b><br>"
        f"median {words.quantity(row['p50_s'], 's')}, P10 to P90 "
        f"{words.quantity(row['p10_s'], 's')} to {words.quantity(row['p90_s'], 's')}"
        f"<br>{words.count(row['timed_holes'])} of "
        f"{words.count(row['attempts'])} attempts timed"
    )
