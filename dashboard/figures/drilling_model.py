"""What the model of drilling time says of sites, and whether its residuals behave."""

from typing import Any

import numpy as np
import plotly.graph_objects as go
import polars as pl
from scipy import special

from dashboard import theme, words
from dashboard.figures.base import axis, draw, say_instead
from dashboard.units import scaled, unit_shown
from queries.readers.drilling_support import ENOUGH

ROW_HEIGHT = 26


def site_effects_figure(effects: pl.DataFrame, names: dict[str, str]) -> go.Figure:
    """Return one line a site: its time over the middle site's for the same holes, in %.

    `effects`: site, factor, low, high, crews, covered (drilling_effects.site_effects),
    first row at the bottom; `names`: the sites' names by code.
    """
    if effects.is_empty():
        return say_instead("No site has a drilling time to use.")
    rows = effects.with_row_index("line").to_dicts()
    segments: dict[str, list[float | None]] = {"x": [], "y": []}
    for row in rows:
        segments["x"] += [_more(row["low"]), _more(row["high"]), None]
        segments["y"] += [row["line"], row["line"], None]
    traces: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": "95 % interval",
            "line": {"color": theme.ACCENT, "width": 3},
            "hoverinfo": "skip",
        }
        | segments,
        {
            "type": "scatter",
            "mode": "markers",
            "name": "site",
            "x": [_more(row["factor"]) for row in rows],
            "y": [row["line"] for row in rows],
            "marker": {"color": theme.ACCENT, "size": 8},
            "hovertext": [_site_tooltip(row, names) for row in rows],
            "hoverinfo": "text",
        },
    ]
    return draw(
        traces,
        height=ROW_HEIGHT * len(rows) + 60,
        xaxis=axis(
            "Longer than the middle site, %",
            zeroline=True,
            zerolinecolor=theme.REFERENCE,
            range=_reach(rows),
        ),
        yaxis=axis(
            "",
            tickvals=[row["line"] for row in rows],
            ticktext=[names.get(row["site"], row["site"]) for row in rows],
            range=[-0.6, len(rows) - 0.4],
            showgrid=False,
        ),
    )


def _reach(rows: list[dict[str, Any]]) -> list[float]:
    """Return an axis with room beyond the longest intervals."""
    low = min(_more(row["low"]) for row in rows)
    high = max(_more(row["high"]) for row in rows)
    return [low - 0.06 * (high - low), high + 0.06 * (high - low)]


def _more(factor: float) -> float:
    return 100 * (factor - 1)


def _site_tooltip(row: dict[str, Any], names: dict[str, str]) -> str:
    return (
        f"<b>{names.get(row['site'], row['site'])}</b><br>"
        f"{_more(row['factor']):+.0f} % ({_more(row['low']):+.0f} to "
        f"{_more(row['high']):+.0f} %), {words.plural(row['crews'], 'crew')}"
    )


def residuals_figure(noise_log: np.ndarray, noise_sd: float) -> go.Figure:
    """Return the quantiles of the residuals of log seconds against a normal's.

    `noise_log`: residuals at even steps of probability, in order; `noise_sd`: the
    model's residual deviation. On the line they would be exactly normal.
    """
    if not len(noise_log) or noise_sd <= 0:
        return say_instead("No residual to show.")
    at = np.unique(np.linspace(0, len(noise_log) - 1, 80).round().astype(int))
    normal = special.ndtri((at + 0.5) / len(noise_log)) * noise_sd
    reach = float(max(abs(normal[0]), abs(noise_log[at]).max())) * 1.08
    traces: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": "as a normal distribution",
            "x": [-reach, reach],
            "y": [-reach, reach],
            "line": {"color": theme.REFERENCE, "width": 1.2, "dash": "dash"},
            "hoverinfo": "skip",
        },
        {
            "type": "scatter",
            "mode": "markers",
            "name": "residuals",
            "x": normal.tolist(),
            "y": noise_log[at].tolist(),
            "marker": {"color": theme.ACCENT, "size": 5},
            "hovertext": [
                f"{100 * (place + 0.5) / len(noise_log):.0f} of 100 holes are quicker "
                f"than {words.fixed(np.exp(noise_log[place]), 2)} times the model's "
                "median"
                for place in at
            ],
            "hoverinfo": "text",
        },
    ]
    return draw(
        traces,
        height=330,
        xaxis=axis("Normal distribution, log seconds", range=[-reach, reach]),
        yaxis=axis("Residual, log seconds", range=[-reach, reach]),
    )


def depth_residuals_figure(checks: pl.DataFrame) -> go.Figure:
    """Return a line a bit and method: its mean residual over the depths it drilled.

    `checks`: `drilling_checks.residual_checks`. Bits of few holes are faint: their
    lines may lean by chance.
    """
    if checks.is_empty():
        return say_instead("No residual to show.")
    rows = checks.to_dicts()
    ends = [abs(row[name]) for row in rows for name in ("shallow_log", "deep_log")]
    reach = max(1.15 * max(ends), 0.1)
    return draw(
        [_leaning(row) for row in rows],
        height=330,
        xaxis=axis(f"Depth drilled, {unit_shown('mm')}", nticks=8),
        yaxis=axis(
            "Mean residual, log seconds",
            range=[-reach, reach],
            zeroline=True,
            zerolinecolor=theme.REFERENCE,
        ),
    )


def _leaning(row: dict[str, Any]) -> dict[str, Any]:
    colour, dash, symbol = theme.METHOD_STYLES.get(
        row["drill_method"], theme.OTHER_METHOD_STYLE
    )
    ends = ("shallow", "deep")
    bit = words.quantity(row["drill_diameter_mm"], "mm", 2)
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": f"{bit}, {words.method(row['drill_method'])}",
        "x": [scaled(row[f"{end}_mm"], "mm") for end in ends],
        "y": [row[f"{end}_log"] for end in ends],
        "line": {"color": colour, "width": 1.8, "dash": dash},
        "marker": {"symbol": symbol, "color": colour, "size": 5},
        "opacity": 1.0 if row["holes"] >= ENOUGH else 0.35,
        "hovertext": [
            f"<b>Bit {bit}, {words.method(row['drill_method'])}</b><br>at "
            f"{words.quantity(row[f'{end}_mm'], 'mm', 0)} "
            f"{words.fixed(np.exp(row[f'{end}_log']), 2)} times the model's median<br>"
            f"{words.plural(row['holes'], 'hole')}"
            for end in ends
        ],
        "hoverinfo": "text",
    }


def wear_figure(curve: pl.DataFrame) -> go.Figure:
    """Return the time with a worn bit beside a new one, by metres, with its interval.

    `curve`: `drilling_effects.wear_curve`.
    """
    if curve.is_empty():
        return say_instead("The logs do not tell how far bits have drilled.")
    metres = [scaled(each, "m") for each in curve["metres"]]
    low, high, factor = (curve[name].to_list() for name in ("low", "high", "factor"))
    traces: list[dict[str, Any]] = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": "95 % interval",
            "x": [*metres, *reversed(metres)],
            "y": [*high, *reversed(low)],
            "fill": "toself",
            "fillcolor": theme.BAND,
            "line": {"width": 0},
            "hoverinfo": "skip",
        },
        {
            "type": "scatter",
            "mode": "lines",
            "name": "model",
            "x": metres,
            "y": factor,
            "line": {"color": theme.ACCENT, "width": 2},
            "hovertext": [
                f"after {words.quantity(row['metres'], 'm', 0)}: "
                f"{words.fixed(row['factor'], 3)} times "
                f"({words.fixed(row['low'], 3)} to {words.fixed(row['high'], 3)})"
                for row in curve.to_dicts()
            ],
            "hoverinfo": "text",
        },
    ]
    return draw(
        traces,
        height=330,
        xaxis=axis(f"Drilled with the bit, {unit_shown('m')}"),
        yaxis=axis("Time, times that with a new bit"),
    )
