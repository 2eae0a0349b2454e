"""Two months beside each other: each group's difference with its interval."""

from typing import Any

import plotly.graph_objects as go

from dashboard import theme, words
from dashboard.figures.base import (
    axis,
    axis_of_lines,
    draw,
    intervals,
    name_lines,
    say_instead,
)

ROW_HEIGHT = 30
LONGEST_NAME = 44
LEAST_REACH = 2.0
HEADROOM = 1.1

Row = dict[str, Any]


def change_figure(rows: list[Row]) -> go.Figure:
    """Return one line a group, first on top: an axis of points later less earlier.

    `rows`: name, difference, low, high, detectable_rise (fractions, None where not
    known), is_changed, and the counts of both months; those without a difference are
    left out.
    """
    shown = [row for row in rows if row["difference"] is not None]
    if not shown:
        return say_instead("Nothing was judged in both months.")
    reach = _reach(shown)
    ends = [(100 * row["low"], 100 * row["high"]) for row in shown]
    traces = [
        _zero(len(shown)),
        intervals(ends, "95 % interval"),
        _rises(shown, reach),
        *(_points(shown, is_changed) for is_changed in (False, True)),
    ]
    return draw(
        traces,
        height=ROW_HEIGHT * len(shown) + 56,
        xaxis=axis(
            "Points, the later month less the earlier",
            range=[-reach, reach],
            side="top",
        ),
        yaxis=axis_of_lines([name_lines(row["name"], LONGEST_NAME) for row in shown]),
    )


def _reach(rows: list[Row]) -> float:
    """Return the end of the axis: all intervals are on it, and half of the rises."""
    ends = [100 * abs(row[end]) for row in rows for end in ("low", "high")]
    rises = sorted(100 * (row["detectable_rise"] or 0) for row in rows)
    return float(HEADROOM * max(*ends, rises[len(rises) // 2], LEAST_REACH))


def _zero(lines: int) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "no difference",
        "x": [0, 0],
        "y": [-0.5, lines - 0.5],
        "line": {"color": theme.REFERENCE, "width": 1.5},
        "hoverinfo": "skip",
    }


def _rises(rows: list[Row], reach: float) -> dict[str, Any]:
    """Mark from where on a rise would have been seen, where that is on the axis."""
    here = [
        (100 * row["detectable_rise"], line)
        for line, row in enumerate(rows)
        if row["detectable_rise"] is not None and 100 * row["detectable_rise"] <= reach
    ]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "rise that would have been seen",
        "x": [rise for rise, _ in here],
        "y": [line for _, line in here],
        "marker": {
            "symbol": "line-ns",
            "size": ROW_HEIGHT - 14,
            "line": {"color": theme.UNKNOWN, "width": 1.5},
        },
        "hoverinfo": "skip",
    }


def _points(rows: list[Row], is_changed: bool) -> dict[str, Any]:
    here = [
        (line, row)
        for line, row in enumerate(rows)
        if bool(row["is_changed"]) is is_changed
    ]
    colour = theme.ABOVE if is_changed else theme.ACCENT
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "changed" if is_changed else "not shown to have changed",
        "x": [100 * row["difference"] for _, row in here],
        "y": [line for line, _ in here],
        "cliponaxis": False,
        "marker": {
            "symbol": "diamond" if is_changed else "circle",
            "color": colour,
            "size": 10,
            "line": {"width": 2, "color": colour},
        },
        "hovertext": [_tooltip(row) for _, row in here],
        "hoverinfo": "text",
    }


def _tooltip(row: Row) -> str:
    months = [
        f"{words.percent(row[f'{month}_rate'])} "
        f"({words.share(row[f'{month}_nonconforming'], row[f'{month}_judged'])})"
        for month in ("earlier", "later")
    ]
    return (
        f"<b>{row['name']}</b><br>{months[0]} to {months[1]}<br>"
        f"{words.points(row['difference'])} points ({words.points(row['low'])} to "
        f"{words.points(row['high'])})"
    )
