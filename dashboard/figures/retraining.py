"""The retraining list as a picture: what each entry could spare, with its interval."""

from collections.abc import Sequence
from typing import Any

import plotly.graph_objects as go

from dashboard import theme, words
from dashboard.figures.base import axis, axis_of_lines, draw, intervals

ROW_HEIGHT = 40
HEADROOM = 1.06

Row = dict[str, Any]


def retraining_figure(rows: Sequence[Row]) -> go.Figure:
    """Return one line an entry, first on top: an axis of anchors that could be spared.

    `rows`, one at least: crew, check, planned, avoidable and its interval's ends
    avoidable_low and avoidable_high (anchors; None where not known), href.
    """
    most = max(row["avoidable_high"] or row["avoidable"] for row in rows)
    ends = [(row["avoidable_low"], row["avoidable_high"]) for row in rows]
    return draw(
        [intervals(ends, "95 % interval"), _points(rows)],
        height=ROW_HEIGHT * len(rows) + 56,
        xaxis=axis(
            "Nonconforming anchors spared in the next weeks",
            range=[0, HEADROOM * most],
            side="top",
        ),
        yaxis=axis_of_lines([_tick(row) for row in rows]),
    )


def _tick(row: Row) -> str:
    """The crew and its check, and under it what the line says in numbers."""
    spared = f"<b>{words.about(row['avoidable'])}</b> of {words.count(row['planned'])}"
    topic = words.title(row["check"]).lower()
    return f'{row["crew"]} {topic}<br><span style="font-size:11px">{spared}</span>'


def _points(rows: Sequence[Row]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "could be spared",
        "x": [row["avoidable"] for row in rows],
        "y": list(range(len(rows))),
        "cliponaxis": False,
        "marker": {"symbol": "circle", "color": theme.ACCENT, "size": 10},
        "hovertext": [_tooltip(row) for row in rows],
        "hoverinfo": "text",
        "customdata": [row["href"] for row in rows],
    }


def _tooltip(row: Row) -> str:
    counts = words.share(row["nonconforming"], row["judged"])
    ends = ""
    if row["avoidable_low"] is not None:
        low, high = (
            words.about(row["avoidable_low"]),
            words.about(row["avoidable_high"]),
        )
        ends = f" ({low}{words.DASH}{high})"
    return (
        f"<b>{row['crew']}, {words.title(row['check']).lower()}</b><br>"
        f"{counts} nonconforming, probably {words.percent(row['eb_rate'])}<br>"
        f"{words.about(row['avoidable'])}{ends} of the next "
        f"{words.count(row['planned'])} could be spared"
    )
