"""Figures: the data of their traces, titles with units, words for nothing."""

from datetime import date
from typing import Any

import plotly.graph_objects as go
import polars as pl
import pytest

from dashboard import theme, words
from dashboard.compared import add_others
from dashboard.figures.forest import forest
from dashboard.figures.funnel import funnel
from dashboard.figures.trend import BETTER, shared_top, week_panel
from dashboard.parts import graph

RATES = add_others(
    pl.DataFrame(
        {
            "site": ["A", "B", "C", "D"],
            "name": ["Alder", "Brine", "Cinder", "Drumlin"],
            "check": ["setting_torque"] * 4,
            "judged": [100, 100, 30, 0],
            "nonconforming": [20, 4, 0, 0],
            "unrecorded": [0, 100, 0, 5],
            "unreadable": [0, 0, 0, 0],
            "rate": [0.2, 0.04, 0.0, None],
            "low": [0.133, 0.016, 0.0, None],
            "high": [0.289, 0.160, 0.114, None],
            "rate_if_unrecorded_conform": [0.2, 0.02, 0.0, 0.0],
            "rate_if_unrecorded_not": [0.2, 0.52, 0.0, 1.0],
            "href": ["/a", "/b", "/c", "/d"],
        }
    ),
    "site",
).with_columns(flagged=False)
LONG = "Alder Row depot, northern extension, building B, second phase"
WEEKS = pl.DataFrame(
    {
        "week": ["2026-W01", "2026-W02", "2026-W03", "2026-W04"],
        "judged": [50, 0, 5, 40],
        "nonconforming": [5, 0, 1, 20],
        "unrecorded": [2, 0, 0, 0],
        "unreadable": [0, 0, 0, 0],
        "rate": [0.1, None, 0.2, 0.5],
        "low": [0.04, None, 0.04, 0.35],
        "high": [0.21, None, 0.62, 0.65],
        "href": ["/1", "/2", "/3", "/4"],
        "lower": [0.02, None, 0.0, 0.02],
        "upper": [0.24, None, 0.9, 0.26],
        "signals": [[], None, [], ["beyond_upper"]],
        "is_baseline": [True, None, True, False],
    }
)
SIGNALS = pl.List(pl.String)
DEPTHS = pl.DataFrame(
    {
        "anchor_size": ["M12"] * 3,
        "drill_method": ["hammer"] * 3,
        "depth_from_mm": [30.0, 80.0, 90.0],
        "depth_to_mm": [40.0, 90.0, 100.0],
        "timed_holes": [20, 60, 3],
        "p10_s": [4.0, 8.0, 9.0],
        "p50_s": [5.0, 10.0, 11.0],
        "p90_s": [6.0, 13.0, 14.0],
        "attempts": [20, 70, 3],
        "abandoned": [20, 0, 0],
    }
)

FLAGGED_POINT = {
    "name": "Brine",
    "nonconforming": 4,
    "silent_nonconforming": 0,
    "expected": 1.0,
    "ratio": 4.0,
    "variation": 1.0,
    "flagged": True,
    "q_value": 0.001,
    "href": "/b",
}


def trace(figure: go.Figure, name: str) -> Any:
    return next(trace for trace in figure.data if trace.name == name)


def drawn_words(figure: go.Figure) -> str:
    return " ".join(note.text for note in figure.layout.annotations)


def test_forest_points_and_intervals() -> None:
    figure = forest(RATES, label="name", link="href")
    assert "%" in figure.layout.xaxis.title.text
    above = trace(figure, "above")
    assert list(above.x) == pytest.approx([20.0])
    assert list(above.customdata) == ["/a"]
    assert "20/100" in above.hovertext[0]
    assert list(trace(figure, "around").x) == pytest.approx([4.0])
    # Cinder's interval ends at 11.4 %, its others are at 24/200.
    assert list(trace(figure, "below").x) == pytest.approx([0.0])
    intervals = trace(figure, "95 % interval")
    assert list(intervals.x[:2]) == pytest.approx([13.3, 28.9])
    # A gap after each line: None in the fourth place would join two sites.
    assert intervals.x[2] is None


def test_forest_filled_and_red_is_out_of_line_and_nothing_else() -> None:
    # Alder's interval lies above its others, and the comparison flags Brine.
    flagged = RATES.with_columns(flagged=pl.col("site") == "B")
    figure = forest(flagged, label="name", link="href")
    out = trace(figure, "out of line")
    assert (out.marker.symbol, out.marker.color) == ("diamond", theme.ABOVE)
    assert list(out.customdata) == ["/b"]
    above = trace(figure, "above")
    assert list(above.customdata) == ["/a"]
    assert above.marker.symbol == "diamond-open"
    assert above.marker.color != theme.ABOVE
    funnelled = funnel([FLAGGED_POINT], link="href")
    both = trace(funnelled, "out of line").marker
    assert set(both.symbol) == {out.marker.symbol}
    assert both.color == out.marker.color


def test_forest_compares_each_with_the_others_only() -> None:
    others = trace(forest(RATES, label="name"), "the others' rate")
    # Alder's others: 4/130, Brine's 20/130, Cinder's 24/200, Drumlin's 24/230.
    expected = [400 / 130, 2000 / 130, 12.0, 2400 / 230]
    assert list(others.x) == pytest.approx(expected)


def test_forest_says_nothing_to_judge_and_what_zero_means() -> None:
    ticks = forest(RATES, label="name").layout.yaxis.ticktext
    assert "nothing to judge" in ticks[3]
    assert "%" not in ticks[3]
    assert "0 of 30: up to 11.4\xa0%" in ticks[2]
    assert "20/100" in ticks[0]


def test_forest_range_of_truth_beyond_the_axis_is_marked() -> None:
    figure = forest(RATES, label="name")
    beyond = trace(figure, "range of truth beyond the axis")
    assert list(beyond.y) == [1, 3]
    assert "52.0" in beyond.text[0]
    assert (
        max(x for x in trace(figure, "range of truth").x if x is not None)
        <= (figure.layout.xaxis.range[1])
    )


def test_forest_first_row_is_on_top() -> None:
    low, high = forest(RATES, label="name").layout.yaxis.range
    assert low > high


def test_week_panel_idle_week_stays_without_a_mark() -> None:
    figure = week_panel(WEEKS, top=1.0, link="href")
    weeks = trace(figure, "weeks")
    assert list(weeks.x) == ["2025-12-29", "2026-01-19"]
    assert list(weeks.y) == pytest.approx([10.0, 50.0])
    assert list(weeks.customdata) == ["/1", "/4"]
    # Three days beyond the first and the last Monday; few weeks are named by days.
    assert list(figure.layout.xaxis.range) == ["2025-12-26", "2026-01-22"]
    assert (figure.layout.xaxis.tick0, figure.layout.xaxis.dtick) == (
        "2025-12-29",
        7 * 24 * 3600 * 1000,
    )
    assert "5/50" in weeks.hovertext[0]
    assert "2 without an answer" in weeks.hovertext[0]


def test_week_panel_marks_baseline_and_trainings_in_sight() -> None:
    days = (date(2026, 1, 14), date(2026, 3, 1))
    figure = week_panel(WEEKS, top=1.0, trained=days)
    base = trace(figure, "baseline")
    assert [value is not None for value in base.y] == [True, False, True, False]
    marked = [str(trace.name) for trace in figure.data]
    assert "trained on 2026-01-14" in marked
    assert "trained on 2026-03-01" not in marked


def test_week_panel_titles_have_units() -> None:
    figure = week_panel(WEEKS, top=1.0)
    assert figure.layout.yaxis.title.text == "% of judged"
    assert "ISO week" in figure.layout.xaxis.title.text


def test_week_panel_few_is_grey_not_hidden() -> None:
    few = trace(week_panel(WEEKS, top=1.0), "weeks with fewer than 10 judged")
    assert list(few.x) == ["2026-01-12"]
    assert list(few.marker.color) == [theme.REFERENCE]


def test_week_panel_beyond_the_shared_axis_is_a_triangle() -> None:
    weeks = trace(week_panel(WEEKS, top=0.3), "weeks")
    assert list(weeks.y) == pytest.approx([10.0, 30.0])
    assert list(weeks.marker.symbol) == ["circle", "triangle-up"]


def test_week_panel_limits_are_steps_with_gaps() -> None:
    figure = week_panel(WEEKS, top=0.5)
    limits = trace(figure, "limits")
    # Upper, then lower: none in the idle week, none beyond the axis, none at 0.
    assert list(limits.y) == [24.0, None, None, 26.0, None, 2.0, None, None, 2.0, None]
    # Nor one at 1, which nothing passes.
    all_bad = WEEKS.with_columns(upper=pl.lit(1.0))
    assert set(trace(week_panel(all_bad, top=1.0), "limits").y[:5]) == {None}


def test_week_panel_says_what_stands_out() -> None:
    weeks = trace(week_panel(WEEKS, top=1.0), "weeks")
    assert list(weeks.marker.symbol) == ["circle", "diamond"]
    assert "above its upper limit" in weeks.hovertext[1]
    assert "limit" not in weeks.hovertext[0]


def test_week_panel_tells_better_from_worse() -> None:
    both = ["beyond_lower", "drift_above"]
    told = WEEKS.with_columns(
        signals=pl.Series([["run_below"], None, ["gap_long"], both])
    )
    weeks = trace(week_panel(told, top=1.0), "weeks")
    assert list(weeks.marker.symbol) == ["diamond-open", "diamond"]
    assert list(weeks.marker.color) == [theme.ACCENT, theme.ABOVE]
    few = trace(week_panel(told, top=1.0), "weeks with fewer than 10 judged")
    assert list(few.marker.symbol) == ["diamond-open"]
    assert list(few.marker.color) == [theme.ACCENT]


def test_every_signal_is_better_or_worse() -> None:
    worse = {"beyond_upper", "run_above", "drift_above", "gaps_short"}
    assert set(words.SIGNALS) == worse | BETTER


def test_shared_top_ignores_weeks_of_a_few_anchors_unless_they_stand_out() -> None:
    few = WEEKS.with_columns(judged=pl.Series([50, 0, 5, 5]))
    assert shared_top(few) == pytest.approx(0.5 * 1.15)
    quiet = few.with_columns(signals=pl.Series([[], None, [], []], dtype=SIGNALS))
    assert shared_top(quiet) == pytest.approx(0.115)
    # A lone crew of ten a week that are all nonconforming is on the scale.
    lone = quiet.with_columns(judged=10, rate=1.0)
    assert shared_top(lone) == 1.0


def test_shared_top_holds_one_week_in_a_hundred_at_the_edge() -> None:
    quiet = WEEKS.head(1).with_columns(signals=pl.Series([[]], dtype=SIGNALS))
    outlier = quiet.with_columns(rate=0.9)
    many = pl.concat([*[quiet] * 200, outlier])
    assert shared_top(many) == pytest.approx(0.115)
    some = pl.concat([*[quiet] * 50, outlier])
    assert shared_top(some) == 1.0


def test_a_chart_says_whether_its_points_lead_somewhere() -> None:
    """By that the pointer is a hand over a point, or never (assets/firmset.css)."""
    looks = [
        graph(
            go.Figure(go.Scatter(x=[1], y=[1], customdata=link), {"height": 100}),
            name="one",
            says="One point.",
        ).className
        for link in (["/records"], None)
    ]
    assert looks == ["chart leads", "chart"]


def test_a_long_name_takes_two_lines_and_is_whole_under_the_pointer() -> None:
    figure = forest(RATES.with_columns(name=pl.lit(LONG)), label="name")
    ticks = figure.layout.yaxis.ticktext
    assert ticks[0].startswith(
        "Alder Row depot, northern<br>extension, building B, second…<br>"
    )
    assert LONG in str(figure.to_dict()["data"])
