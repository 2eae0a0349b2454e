"""Embedments side by side as a picture: seconds per good hole, and the cone."""

from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from dashboard import theme, words
from dashboard.figures.base import axis, axis_of_lines, draw, intervals

ROW_HEIGHT = 44
HEADROOM = 1.06

Row = dict[str, Any]


def embedments_figure(rows: Sequence[Row]) -> go.Figure:
    """Return one line an embedment, first on top: an axis of seconds from 0.

    `rows`, one at least: embedment_mm, p50_min, p80_min and the 80 % interval's ends
    low_min and high_min (minutes per good hole), cone_ratio (1 at the reference).
    """
    ends = [(60 * row["low_min"], 60 * row["high_min"]) for row in rows]
    return draw(
        [intervals(ends, "80 % interval"), _eighties(rows), _points(rows)],
        height=ROW_HEIGHT * len(rows) + 56,
        xaxis=axis(
            "Drilling per good hole, s",
            range=[0, HEADROOM * 60 * max(row["high_min"] for row in rows)],
            side="top",
        ),
        yaxis=axis_of_lines([_tick(row) for row in rows]),
    )


def _tick(row: Row) -> str:
    """The embedment, and under it what the line says in numbers."""
    cone = f"{words.known_percent(row['cone_ratio'])} of the cone"
    said = f"<b>{_seconds(row, 'p50')}{words.SPACE}s</b>, {cone}"
    embedment = words.quantity(row["embedment_mm"], "mm")
    return f'{embedment}<br><span style="font-size:11px">{said}</span>'


def _seconds(row: Row, name: str) -> str:
    return words.number(60 * row[f"{name}_min"], 1)


def _eighties(rows: Sequence[Row]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "P80",
        "x": [60 * row["p80_min"] for row in rows],
        "y": list(range(len(rows))),
        "marker": {
            "symbol": "line-ns",
            "size": 16,
            "line": {"color": theme.UNKNOWN, "width": 2},
        },
        "hoverinfo": "skip",
    }


def _points(rows: Sequence[Row]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "P50",
        "x": [60 * row["p50_min"] for row in rows],
        "y": list(range(len(rows))),
        "marker": {"symbol": "circle", "color": theme.ACCENT, "size": 10},
        "hovertext": [_tooltip(row) for row in rows],
        "hoverinfo": "text",
    }


def _tooltip(row: Row) -> str:
    return (
        f"<b>{words.quantity(row['embedment_mm'], 'mm')}</b><br>"
        f"{_seconds(row, 'p50')} s per good hole ({_seconds(row, 'low')}{words.DASH}"
        f"{_seconds(row, 'high')}), P80 {_seconds(row, 'p80')} s<br>"
        f"{words.known_percent(row['cone_ratio'])} of the reference's indicative cone"
    )
