"""Small multiples by ISO week: one panel a group, on axes shared by all."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import plotly.graph_objects as go
import polars as pl

from dashboard import theme, words
from dashboard.figures.base import axis, draw, say_instead

PANEL_HEIGHT = 168
# Below this a week's rate is mostly chance: a grey open mark.
FEW = 10
# The share of weeks above the shared scale, at most: rare outliers.
BEYOND = 0.01
# Signals of a rate that fell. All others are of one that rose.
BETTER = frozenset({"beyond_lower", "run_below", "drift_below", "gap_long"})
LOWEST_TOP = 0.08
FEW_WEEKS = 16
TICKS = 5
HEADROOM = 1.15


def shared_top(rates: pl.DataFrame) -> float:
    """Return the end (a fraction) of the axis that all panels of `rates` share.

    It follows the weeks that are no mostly-chance marks, and those that stand out; not
    their intervals, nor the highest in a hundred, which would flatten every panel.
    """
    stands_out = pl.col("signals").list.len().fill_null(0) > 0
    drawn = rates.filter(
        pl.col("rate").is_not_null() & ((pl.col("judged") >= FEW) | stands_out)
    )
    highest = drawn["rate"].quantile(1 - BEYOND, "higher") if len(drawn) else None
    return float(min(max((highest or 0) * HEADROOM, LOWEST_TOP), 1.0))


def is_better(signals: Sequence[str] | None) -> bool:
    """Say whether all that makes a week stand out is better than the baseline."""
    return bool(signals) and set(signals or ()) <= BETTER


def week_panel(
    rates: pl.DataFrame,
    *,
    top: float,
    overall: float | None = None,
    link: str | None = None,
    trained: Sequence[date] = (),
) -> go.Figure:
    """Return one group's weekly non-conformance rate, in %, with its intervals.

    `rates`: week (2025-W07), judged, nonconforming, unrecorded, unreadable, rate,
    low, high, and of the chart lower, upper (null: no limits), signals (list) and
    is_baseline;
    idle weeks have no rate and stay as gaps. `top`: end of the shared axis (fraction).
    `overall`: the rate of all groups, a thin line. `link`: the column with the address
    behind a point. `trained`: days of trainings, marked where they are in sight.
    """
    if rates.is_empty():
        return say_instead("No installation matches these filters.")
    rows = [
        row | {"day": words.week_days(row["week"])[0].isoformat()}
        for row in rates.to_dicts()
    ]
    judged = [row for row in rows if row["rate"] is not None]
    traces = [_baseline(rows, top), _limits(rows, top), _needles(judged)]
    traces += _trainings(rows, trained, top)
    if overall is not None:
        traces.insert(0, _line(rows, overall))
    traces += [
        _marks([row for row in judged if row["judged"] >= FEW], top, link, few=False),
        _marks([row for row in judged if row["judged"] < FEW], top, link, few=True),
    ]
    return draw(
        traces,
        height=PANEL_HEIGHT,
        xaxis=axis("ISO week, by its Monday", showgrid=False, **_weeks_axis(rows)),
        yaxis=axis(
            "% of judged", range=[-1.5 * top, 100 * top], nticks=4, rangemode="tozero"
        ),
        margin={"l": 4, "r": 10, "t": 6, "b": 4},
    )


def _weeks_axis(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """A date axis with a margin, so that neither end's week lies on the frame.

    A few weeks are named by their days: months would come again and again.
    """
    first, last = (date.fromisoformat(rows[place]["day"]) for place in (0, -1))
    margin = max(timedelta(days=3), (last - first) / 50)
    ends = [(first - margin).isoformat(), (last + margin).isoformat()]
    if len(rows) > FEW_WEEKS:
        return {"type": "date", "range": ends, "nticks": TICKS, "tickformat": "%b %y"}
    step = timedelta(weeks=-(-len(rows) // TICKS)) / timedelta(milliseconds=1)
    return {
        "type": "date",
        "range": ends,
        "tick0": first.isoformat(),
        "dtick": step,
        "tickformat": "%-d %b",
    }


def _line(rows: list[dict[str, Any]], rate: float) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "all together",
        "x": [rows[0]["day"], rows[-1]["day"]],
        "y": [100 * rate, 100 * rate],
        "line": {"color": theme.REFERENCE, "width": 1, "dash": "dash"},
        "hoverinfo": "skip",
    }


def _baseline(rows: list[dict[str, Any]], top: float) -> dict[str, Any]:
    """A line under the weeks that the limits come from."""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "baseline",
        "x": [row["day"] for row in rows],
        "y": [-0.8 * top if row["is_baseline"] else None for row in rows],
        "connectgaps": False,
        "line": {"color": theme.REFERENCE, "width": 3},
        "hoverinfo": "skip",
    }


def _trainings(
    rows: list[dict[str, Any]], trained: Sequence[date], top: float
) -> list[dict[str, Any]]:
    """An upright line on each day of a training."""
    first, last = rows[0]["day"], words.week_days(rows[-1]["week"])[1].isoformat()
    days = [day.isoformat() for day in trained if first <= day.isoformat() <= last]
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": f"trained on {day}",
            "x": [day, day],
            "y": [0, 100 * top],
            "line": {"color": theme.UNKNOWN, "width": 1.5, "dash": "dot"},
            "hovertext": f"trained on {day}",
            "hoverinfo": "text",
        }
        for day in days
    ]


def _limits(rows: list[dict[str, Any]], top: float) -> dict[str, Any]:
    """The chart's upper and lower limit as steps, a gap where there are none."""
    x: list[str | None] = []
    y: list[float | None] = []
    for name in ("upper", "lower"):
        for row in rows:
            # A lower limit of 0 cannot be undercut, nor an upper one of 1 be passed:
            # they are no lines. One beyond the shared axis is out of sight.
            limit = row[name] or 0
            is_line = 0 < limit < 1 and limit <= top
            x.append(row["day"])
            y.append(100 * limit if is_line else None)
        x.append(None)
        y.append(None)
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "limits",
        "x": x,
        "y": y,
        "connectgaps": False,
        "line": {"color": theme.ABOVE, "width": 1, "shape": "hvh"},
        "hoverinfo": "skip",
    }


def _needles(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """One vertical line a week, from the lower to the upper limit."""
    x: list[str | None] = []
    y: list[float | None] = []
    for row in rows:
        x += [row["day"], row["day"], None]
        y += [100 * row["low"], 100 * row["high"], None]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "95 % interval",
        "x": x,
        "y": y,
        "line": {"color": theme.BAND, "width": 2},
        "hoverinfo": "skip",
    }


def _marks(
    rows: list[dict[str, Any]], top: float, link: str | None, *, few: bool
) -> dict[str, Any]:
    # A week beyond the shared axis is held at its edge as a triangle.
    beyond = [row["rate"] > top for row in rows]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": f"weeks with fewer than {FEW} judged" if few else "weeks",
        "x": [row["day"] for row in rows],
        "y": [100 * min(row["rate"], top) for row in rows],
        "marker": {
            "symbol": [
                "triangle-up"
                if is_beyond
                else "diamond-open"
                if is_better(row["signals"])
                else "diamond"
                if row["signals"]
                else "circle-open"
                if few
                else "circle"
                for row, is_beyond in zip(rows, beyond, strict=True)
            ],
            "color": [
                theme.ABOVE
                if row["signals"] and not is_better(row["signals"])
                else theme.REFERENCE
                if few and not row["signals"]
                else theme.ACCENT
                for row in rows
            ],
            "size": 5 if few else 5.5,
        },
        "cliponaxis": False,
        "hovertext": [_tooltip(row) for row in rows],
        "hoverinfo": "text",
        "customdata": [row[link] for row in rows] if link else None,
    }


def _tooltip(row: dict[str, Any]) -> str:
    text = (
        f"<b>{row['week']}</b><br>"
        f"{words.share(row['nonconforming'], row['judged'])} judged = "
        f"{words.percent(row['rate'])} ({words.interval(row['low'], row['high'])})"
    )
    if row["signals"]:
        text += f"<br>{words.signals(row['signals'])}"
    missing = row["unrecorded"] + row["unreadable"]
    return text + (f"<br>{words.count(missing)} without an answer" if missing else "")
