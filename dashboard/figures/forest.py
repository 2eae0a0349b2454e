"""Groups side by side: rate, interval, the others' rate and the range of truth."""

from typing import Any

import plotly.graph_objects as go
import polars as pl

from dashboard import theme, words
from dashboard.figures.base import axis, axis_of_lines, draw, name_lines, say_instead

ROW_HEIGHT = 40
# With a name over two lines.
LONG_ROW_HEIGHT = 50
LONGEST_NAME = 30
# The axis follows the intervals; a range of truth that leaves it gets an arrow.
HEADROOM = 1.12


def forest(rates: pl.DataFrame, *, label: str, link: str | None = None) -> go.Figure:
    """Return one line a group, first row on top: an axis of non-conformance rate in %.

    `rates`: judged, nonconforming, unrecorded, unreadable, rate, low, high,
    rate_if_unrecorded_conform, rate_if_unrecorded_not (fractions), others_rate,
    position (`compared.add_others`), flagged (`compared.add_flags`); `label` names the
    column with the group's name, `link` the column with the address behind its point.
    """
    if rates.is_empty():
        return say_instead("No installation matches these filters.")
    rows = rates.with_row_index("line").to_dicts()
    reach = _reach(rates)
    traces = [
        _range_of_truth(rows, reach),
        _others(rows),
        _intervals(rows),
        *(_points(rows, label, link, kind) for kind in _MARKS),
        *_arrows(rows, reach),
    ]
    ticks = [_tick(row, label) for row in rows]
    is_long = any(tick.count("<br>") > 1 for tick in ticks)
    return draw(
        traces,
        height=(LONG_ROW_HEIGHT if is_long else ROW_HEIGHT) * len(rows) + 56,
        xaxis=axis(
            "Non-conformance rate, % of judged",
            range=[-reach * 0.012, reach],
            side="top",
        ),
        yaxis=axis_of_lines(ticks),
    )


# Filled and red is what a comparison for like work flags, as in the funnel; an interval
# above the others has allowed for neither the mix nor the looks, and is hollow.
_MARKS: dict[str, tuple[str, str]] = {
    "out of line": ("diamond", theme.ABOVE),
    "above": ("diamond-open", theme.ACCENT),
    "around": ("circle", theme.ACCENT),
    "below": ("circle-open", theme.ACCENT),
}


def _reach(rates: pl.DataFrame) -> float:
    tops = rates.select(
        pl.max_horizontal(pl.col("high").max(), pl.col("others_rate").max())
    )
    top: float | None = tops.item()
    return max(100 * (top or 0), 1.0) * HEADROOM


def _tick(row: dict[str, Any], label: str) -> str:
    """The group's name, and under it what the line says in numbers."""
    name = name_lines(str(row[label]), LONGEST_NAME)
    return f'{name}<br><span style="font-size:11px">{_numbers(row)}</span>'


def _numbers(row: dict[str, Any]) -> str:
    if row["rate"] is None:
        return words.NOTHING
    if row["nonconforming"] == 0:
        return f"0 of {words.count(row['judged'])}: up to {words.percent(row['high'])}"
    counts = words.share(row["nonconforming"], row["judged"])
    return f"<b>{words.percent(row['rate'])}</b>  {counts}"


def _segments(
    rows: list[dict[str, Any]], start: str, end: str, last: float | None = None
) -> dict[str, list[float | None]]:
    """Return x and y of one horizontal line a row, a gap between them."""
    x: list[float | None] = []
    y: list[float | None] = []
    for row in rows:
        if row[start] is None or row[end] is None:
            continue
        to = 100 * row[end] if last is None else min(100 * row[end], last)
        x += [min(100 * row[start], to), to, None]
        y += [row["line"], row["line"], None]
    return {"x": x, "y": y}


def _range_of_truth(rows: list[dict[str, Any]], reach: float) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "range of truth",
        "line": {"color": theme.UNKNOWN, "width": 1.2, "dash": "dot"},
        "hoverinfo": "skip",
    } | _segments(
        rows, "rate_if_unrecorded_conform", "rate_if_unrecorded_not", last=reach
    )


def _intervals(rows: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": "95 % interval",
        "line": {"color": theme.ACCENT, "width": 3},
        "hoverinfo": "skip",
    } | _segments(rows, "low", "high")


def _others(rows: list[dict[str, Any]]) -> dict[str, Any]:
    known = [row for row in rows if row["others_rate"] is not None]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "the others' rate",
        "x": [100 * row["others_rate"] for row in known],
        "y": [row["line"] for row in known],
        "marker": {
            "symbol": "line-ns",
            "size": ROW_HEIGHT - 10,
            "line": {"color": theme.REFERENCE, "width": 1.5},
        },
        "hoverinfo": "skip",
    }


def _points(
    rows: list[dict[str, Any]], label: str, link: str | None, kind: str
) -> dict[str, Any]:
    symbol, colour = _MARKS[kind]
    here = [row for row in rows if row["rate"] is not None and _kind(row) == kind]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": kind,
        "x": [100 * row["rate"] for row in here],
        "y": [row["line"] for row in here],
        "cliponaxis": False,
        "marker": {
            "symbol": symbol,
            "color": colour,
            "size": 10,
            "line": {"width": 2, "color": colour},
        },
        "hovertext": [_tooltip(row, label) for row in here],
        "hoverinfo": "text",
        "customdata": [row[link] for row in here] if link else None,
    }


def _kind(row: dict[str, Any]) -> str:
    return "out of line" if row["flagged"] else str(row["position"] or "around")


def _arrows(rows: list[dict[str, Any]], reach: float) -> list[dict[str, Any]]:
    """Mark ranges of truth that go beyond the axis, with where they end."""
    here = [row for row in rows if 100 * (row["rate_if_unrecorded_not"] or 0) > reach]
    if not here:
        return []
    return [
        {
            "type": "scatter",
            "mode": "markers+text",
            "name": "range of truth beyond the axis",
            "x": [reach * 0.985 for _ in here],
            "y": [row["line"] for row in here],
            "text": [
                f"to {words.percent(row['rate_if_unrecorded_not'])} " for row in here
            ],
            "textposition": "bottom left",
            "textfont": {"size": 10},
            "cliponaxis": False,
            "marker": {"symbol": "triangle-right", "color": theme.UNKNOWN, "size": 7},
            "hoverinfo": "skip",
        }
    ]


def _tooltip(row: dict[str, Any], label: str) -> str:
    lines = [
        f"<b>{row[label]}</b>",
        (
            f"{words.share(row['nonconforming'], row['judged'])} judged = "
            f"{words.percent(row['rate'])} ({words.interval(row['low'], row['high'])})"
        ),
    ]
    if row["others_rate"] is not None:
        lines.append(f"the others: {words.percent(row['others_rate'])}")
    missing = row["unrecorded"] + row["unreadable"]
    if missing:
        span = words.interval(
            row["rate_if_unrecorded_conform"], row["rate_if_unrecorded_not"]
        )
        lines.append(f"{words.count(missing)} without an answer: truth in {span}")
    return "<br>".join(lines)
