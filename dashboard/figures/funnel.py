"""Groups by how much is expected of them: luck fans out where that is little."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import plotly.graph_objects as go

from dashboard import theme, words
from dashboard.compared import found_beside
from dashboard.figures.base import axis, draw, say_instead
from queries.statistics.exact import funnel_limits, others_variation
from queries.statistics.flagging import FLAGGED_AT

HEIGHT = 320
POINTS = 60
# A ratio beyond this stands at the edge.
LARGEST_DRAWN = 4.0
# So many far below are named; where there are more, it is the others that stand out.
FEW_BELOW = 3
HALF = 0.5
# Height of a line of names, as a share of the axis.
LINE = 0.055
# Two limits, as public health reports draw them; the wider one has no dash.
CONFIDENCES = {0.95: "dot", 0.998: "solid"}


def funnel(rows: Sequence[dict[str, Any]], link: str | None = None) -> go.Figure:
    """Return observed / expected against expected (log axis), with limits of chance.

    `rows`: name, nonconforming, silent_nonconforming, expected, ratio, variation,
    flagged; a row without a ratio has no point. The limits are those of a group that
    does as the others do, which vary too, with the median allowance for bad days; a
    flag has its own group's. A ratio far beyond the others stands at the upper edge,
    its value written: drawn to scale it would press all others into a line.
    """
    shown = [row for row in rows if row["ratio"] is not None and row["expected"]]
    if not shown:
        return say_instead("No group can be compared with the others.")
    expected = np.array([row["expected"] for row in shown])
    along = np.geomspace(0.8 * expected.min(), 1.25 * expected.max(), POINTS)
    bad_days = max(float(np.median([row["variation"] or 1 for row in shown])), 1.0)
    variation = bad_days * others_variation(along, sum(map(found_beside, shown)))
    ticks = log_ticks(float(along[0]), float(along[-1]))
    within = [row["ratio"] for row in shown if row["ratio"] <= LARGEST_DRAWN]
    top = 1.15 * max([2.0, *within])
    marks = (("circle", theme.ACCENT, False), ("diamond", theme.ABOVE, True))
    return draw(
        [
            *(
                line
                for confidence, dash in CONFIDENCES.items()
                for line in _limits(along, variation, confidence, dash)
            ),
            *(_marks(shown, link, top, *mark) for mark in marks),
        ],
        height=HEIGHT,
        xaxis=axis(
            "Expected nonconforming (log scale)",
            type="log",
            tickvals=ticks,
            ticktext=[_tick(tick) for tick in ticks],
            range=[
                math.log10(0.9 * min(along[0], ticks[0])),
                math.log10(1.1 * max(along[-1], ticks[-1])),
            ],
        ),
        yaxis=axis("Times expected", range=[0, top]),
        annotations=_names(shown, top, float(np.sqrt(along[0] * along[-1]))),
        shapes=[
            {
                "type": "line",
                "xref": "paper",
                "x0": 0,
                "x1": 1,
                "y0": 1,
                "y1": 1,
                "line": {"color": theme.REFERENCE, "width": 1},
            }
        ],
    )


def log_ticks(low: float, high: float) -> list[float]:
    """Return 1, 2 and 5 of every power of ten within a range.

    Of a range with fewer than two of them, the next below and above as well.

    Plotly labels a short log axis by last digits: "2" where 20 is meant.
    """
    first, last = math.floor(math.log10(low)) - 1, math.ceil(math.log10(high)) + 1
    steps = [
        float(f"{digit}e{power}")
        for power in range(first, last + 1)
        for digit in (1, 2, 5)
    ]
    within = [step for step in steps if low <= step <= high]
    if len(within) > 1:
        return within
    below = max(step for step in steps if step < low)
    above = min(step for step in steps if step > high)
    return [below, *within, above]


def _tick(value: float) -> str:
    return words.count(round(value)) if value >= 1 else words.plain(value)


def _limits(
    along: np.ndarray, variation: np.ndarray, confidence: float, dash: str
) -> list[dict[str, Any]]:
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": f"{words.plain(100 * confidence)} % limit",
            "x": along.tolist(),
            "y": end.tolist(),
            "line": {"color": theme.REFERENCE, "width": 1, "dash": dash},
            "hoverinfo": "skip",
        }
        for end in funnel_limits(along, variation, confidence)
    ]


def _names(
    rows: Sequence[dict[str, Any]], top: float, middle: float
) -> list[dict[str, Any]]:
    """Name what stands out beside its point, the highest first, none over another.

    The flagged, and a few as far below: too good is worth a look as well. `middle` of
    the axis: names run towards it, away from the edges.
    """
    low = [row for row in rows if _is_far_below(row)]
    named = [row for row in rows if row["flagged"]]
    named += low if len(low) <= FEW_BELOW else []
    named.sort(key=lambda row: row["ratio"], reverse=True)
    at, names = top, []
    for row in named:
        at = min(row["ratio"], at - LINE * top)
        is_right = bool(row["expected"] >= middle)
        names.append(
            {
                "text": _name(row, top),
                "x": float(np.log10(row["expected"])),
                "y": at,
                "showarrow": False,
                "xanchor": "right" if is_right else "left",
                "xshift": -9 if is_right else 9,
                "font": {"size": 11},
            }
        )
    return names


def _is_far_below(row: dict[str, Any]) -> bool:
    """Say whether a group shows half or less, clear of chance as a flag is."""
    q_value = row["q_value"]
    return q_value is not None and q_value <= FLAGGED_AT and row["ratio"] <= HALF


def _name(row: dict[str, Any], top: float) -> str:
    if row["ratio"] <= top:
        return str(row["name"])
    return f"{row['name']}, {words.fixed(row['ratio'], 1)} times"


def _marks(
    rows: Sequence[dict[str, Any]],
    link: str | None,
    top: float,
    symbol: str,
    colour: str,
    is_flagged: bool,
) -> dict[str, Any]:
    here = [row for row in rows if bool(row["flagged"]) == is_flagged]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "out of line" if is_flagged else "in line",
        "x": [row["expected"] for row in here],
        "y": [min(row["ratio"], top) for row in here],
        "cliponaxis": False,
        "marker": {
            "symbol": [
                symbol if row["ratio"] <= top else "triangle-up" for row in here
            ],
            "color": colour,
            "size": 9,
        },
        "hovertext": [_tooltip(row) for row in here],
        "hoverinfo": "text",
        "customdata": [row[link] for row in here] if link else None,
    }


def _tooltip(row: dict[str, Any]) -> str:
    return (
        f"<b>{row['name']}</b><br>{words.count(found_beside(row))} nonconforming, "
        f"{words.about(row['expected'])} expected: {words.fixed(row['ratio'], 2)} "
        "times"
    )
