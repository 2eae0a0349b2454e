"""What every figure shares: its empty paper, axes with thin grids, and no legend."""

from collections.abc import Sequence
from textwrap import wrap
from typing import Any

import plotly.graph_objects as go

from dashboard import theme
from dashboard.wish import wish


def axis(title: str, **settings: Any) -> dict[str, Any]:
    """Return an axis with its title (quantity and unit) and a thin grid."""
    return {
        "title": {"text": title, "font": {"size": 11}, "standoff": 6},
        "gridcolor": theme.FIGURE_GRID,
        "gridwidth": 1,
        "zeroline": False,
        "showline": False,
        "ticks": "",
        "tickfont": {"size": 11},
        "fixedrange": True,
        "automargin": True,
    } | settings


def axis_of_lines(names: Sequence[str]) -> dict[str, Any]:
    """Return the upright axis of a figure with one line a name, first on top."""
    return axis(
        "",
        tickvals=list(range(len(names))),
        ticktext=list(names),
        range=[len(names) - 0.5, -0.5],
        showgrid=False,
        tickfont={"size": 12},
    )


def name_lines(name: str, longest: int) -> str:
    """Return a name over two lines at most: a third would stand on its neighbour's."""
    return "<br>".join(wrap(name, longest, max_lines=2, placeholder="…"))


def intervals(
    ends: Sequence[tuple[float | None, float | None]], name: str
) -> dict[str, Any]:
    """Return the trace of one bar a line, from low to high; none where one is None."""
    x: list[float | None] = []
    y: list[float | None] = []
    for line, (low, high) in enumerate(ends):
        if low is not None and high is not None:
            x += [low, high, None]
            y += [line, line, None]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": x,
        "y": y,
        "line": {"color": theme.ACCENT, "width": 3},
        "hoverinfo": "skip",
    }


def draw(traces: Sequence[dict[str, Any]], *, height: int, **layout: Any) -> go.Figure:
    """Return a figure on transparent paper; no template travels with it."""
    shared: dict[str, Any] = {
        "template": {"layout": {}},
        "height": height,
        "margin": {"l": 8, "r": 8, "t": 8, "b": 8},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": theme.FONT, "size": 12, "color": theme.FIGURE_TEXT},
        "showlegend": False,
        "dragmode": False,
        # A text of digits is a name, not a number.
        "autotypenumbers": "strict",
        "separators": wish().language.decimal + wish().language.thousands,
        "hovermode": "closest",
        "hoverlabel": {
            "bgcolor": "#20272b",
            "bordercolor": "#20272b",
            "font": {"color": "#ffffff", "size": 12, "family": theme.FONT},
            "align": "left",
        },
    }
    # Unchecked: checking every point takes some fifteen times as long as all else. A
    # test holds each figure of the pages to what plotly knows.
    return go.Figure({"data": list(traces), "layout": shared | layout}, _validate=False)


def say_instead(words: str, *, height: int = 120) -> go.Figure:
    """Return the figure of an empty selection: words where the marks would be."""
    return draw(
        [],
        height=height,
        xaxis={"visible": False, "fixedrange": True},
        yaxis={"visible": False, "fixedrange": True},
        annotations=[
            {
                "text": words,
                "x": 0.5,
                "y": 0.5,
                "xref": "paper",
                "yref": "paper",
                "showarrow": False,
                "font": {"size": 13},
            }
        ],
    )
