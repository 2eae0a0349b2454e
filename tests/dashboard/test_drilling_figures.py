"""What the charts of drilling show."""

import math

import polars as pl
import pytest

from dashboard.figures.drilling import depth_ranges, drilling_panel, shared_log_s
from dashboard.figures.drilling_model import depth_residuals_figure, wear_figure
from dashboard.figures.forest import forest
from dashboard.figures.trend import week_panel
from dashboard.life_table import add_lost
from tests.dashboard.test_figures import DEPTHS, RATES, WEEKS, drawn_words, trace


def test_drilling_panel_traces() -> None:
    figure = drilling_panel(
        add_lost(DEPTHS), depth_mm=[0, 120], log_s=[0, 2], lost_top=0.5
    )
    median = trace(figure, "hammer, median")
    assert list(median.x) == [85.0]
    assert list(median.y) == [10.0]
    assert "60 of 70 attempts timed" in median.hovertext[0]
    # 30 to 40 mm: all abandoned; 90 to 100 mm: three holes. Open marks, unjoined.
    apart = trace(figure, "hammer, few or often abandoned")
    assert list(apart.x) == [35.0, 95.0]
    assert apart.mode == "markers"
    lost = trace(figure, "hammer, lost")
    assert next(iter(lost.y)) == pytest.approx(100 * 20 / 93)
    assert list(lost.x) == [40.0, 90.0]


def test_drilling_panel_titles_have_units() -> None:
    layout = drilling_panel(
        add_lost(DEPTHS), depth_mm=[0, 120], log_s=[0, 2], lost_top=0.5
    ).layout
    assert layout.xaxis.title.text == "Depth drilled, mm"
    assert "s (log scale)" in layout.yaxis.title.text
    assert "%" in layout.yaxis2.title.text


def test_each_size_has_its_own_depths_on_one_scale() -> None:
    """M12 is joined from 80 to 90 mm, M20 from 130 to 170 mm, M6 nowhere."""
    deep = DEPTHS.with_columns(
        pl.lit("M20").alias("anchor_size"),
        depth_from_mm=pl.Series([130.0, 140.0, 160.0]),
        depth_to_mm=pl.Series([140.0, 150.0, 170.0]),
        abandoned=pl.Series([0, 0, 0]),
        timed_holes=pl.Series([20, 60, 30]),
        p90_s=pl.Series([6.0, 13.0, 40.0]),
    )
    few = DEPTHS.with_columns(
        pl.lit("M6").alias("anchor_size"), timed_holes=pl.Series([1, 1, 1])
    )
    every = pl.concat([DEPTHS, deep, few])
    found = depth_ranges(every)
    # The widest needs 40 mm; 10 mm are free before it and 5 mm after it.
    assert found == {"M12": [40, 95], "M20": [120, 175], "M6": [50, 105]}
    assert shared_log_s(every) == pytest.approx(
        [math.log10(4) - 0.05, math.log10(40) + 0.05]
    )
    assert depth_ranges(few.filter(pl.col("depth_to_mm") == 40)) == {"M6": [20, 45]}
    shallow = DEPTHS.with_columns(pl.col("depth_from_mm", "depth_to_mm") - 79)
    assert depth_ranges(shallow) == {"M12": [0, 25]}
    assert depth_ranges(DEPTHS.clear()) == {}


CHECKS = pl.DataFrame(
    {
        "drill_diameter_mm": [8.0, 12.0],
        "drill_method": ["hammer", "core"],
        "holes": [199, 200],
        "shallow_mm": [50.0, 90.0],
        "deep_mm": [60.0, 120.0],
        "shallow_log": [-0.3, 0.02],
        "deep_log": [0.1, 0.01],
    }
)


def test_residuals_by_depth_are_a_line_a_bit_and_method() -> None:
    figure = depth_residuals_figure(CHECKS)
    thin, other = figure.data
    assert (list(thin.x), list(thin.y)) == ([50, 60], [-0.3, 0.1])
    assert thin.name.replace("\xa0", " ") == "8 mm, hammer"
    assert thin.opacity < other.opacity == 1
    assert "199 holes" in thin.hovertext[0]
    low, high = figure.layout.yaxis.range
    assert low == -high < -0.3
    # Residuals near 0 are not blown up.
    assert depth_residuals_figure(CHECKS[1:]).layout.yaxis.range == (-0.1, 0.1)
    assert "mm" in figure.layout.xaxis.title.text
    assert "No residual" in drawn_words(depth_residuals_figure(CHECKS.clear()))


def test_wear_is_a_line_in_its_band() -> None:
    curve = pl.DataFrame(
        {
            "metres": [0.0, 60.0],
            "factor": [1.0, 1.2],
            "low": [1.0, 1.1],
            "high": [1.0, 1.3],
        }
    )
    figure = wear_figure(curve)
    assert list(trace(figure, "model").y) == [1.0, 1.2]
    band = trace(figure, "95 % interval")
    assert list(zip(band.x, band.y, strict=True)) == [
        *((0, 1.0), (60, 1.3), (60, 1.1), (0, 1.0))
    ]
    assert "do not tell" in drawn_words(wear_figure(curve.clear()))


def test_empty_frames_say_so_in_words() -> None:
    empty = [
        forest(RATES.clear(), label="name"),
        week_panel(WEEKS.clear(), top=0.1),
        drilling_panel(
            add_lost(DEPTHS.clear()), depth_mm=[0, 1], log_s=[0, 1], lost_top=0.1
        ),
    ]
    for figure in empty:
        assert not figure.data
        assert "matches these filters" in drawn_words(figure)
