"""The funnel: who is placed, who is named, and where its limits run."""

from itertools import pairwise
from typing import Any

import pytest

from dashboard.figures.funnel import funnel, log_ticks

ROW: dict[str, Any] = {
    "name": "A",
    "nonconforming": 10,
    "silent_nonconforming": 0,
    "expected": 10.0,
    "ratio": 1.0,
    "variation": 1.0,
    "flagged": False,
    "q_value": 0.5,
    "href": "/records?sites=A",
}


def traces(*changes: dict[str, Any]) -> dict[str, dict[str, Any]]:
    rows = [ROW | change for change in changes]
    return {
        trace["name"]: trace for trace in funnel(rows, link="href").to_dict()["data"]
    }


def test_a_flagged_group_is_named_and_leads_on() -> None:
    flagged = {"name": "B", "ratio": 3.0, "flagged": True, "href": "/b"}
    found = traces({}, flagged)
    assert list(found["in line"]["x"]) == [10.0]
    assert list(found["out of line"]["customdata"]) == ["/b"]
    inside, outside = (
        set(found[name]["marker"]["symbol"]) for name in ("in line", "out of line")
    )
    assert len(inside) == len(outside) == 1
    assert inside != outside
    drawn = funnel([ROW, ROW | flagged]).layout
    assert [note.text for note in drawn.annotations] == ["B"]


@pytest.mark.parametrize(("count", "named"), [(3, 3), (4, 0)])
def test_a_few_far_below_are_named_too(count: int, named: int) -> None:
    """Too good is worth a look; of many, it is a bad one that made them so."""
    low = [
        ROW | {"name": f"L{number}", "ratio": 0.1, "q_value": 0.01}
        for number in range(count)
    ]
    names = [note.text for note in funnel([ROW, *low]).layout.annotations]
    assert names == [f"L{number}" for number in range(named)]


def test_names_of_neighbours_do_not_cover_one_another() -> None:
    near = [
        ROW | {"name": name, "ratio": 2 + step / 100, "flagged": True}
        for step, name in enumerate("BCD")
    ]
    drawn = funnel([ROW, *near]).layout
    ends = [note.y for note in drawn.annotations]
    assert [note.text for note in drawn.annotations] == ["D", "C", "B"]
    # A line of 11 px in 320 px less the axis: some 5 % of its range.
    apart = 0.05 * drawn.yaxis.range[1]
    assert all(one - two > apart for one, two in pairwise(ends))


# Ten other groups about 1 would lie within a tenth of the axis beneath a twelve.
def test_one_far_beyond_leaves_the_others_their_axis() -> None:
    far = ROW | {"name": "B", "ratio": 12.3, "flagged": True, "href": "/b"}
    drawn = funnel([ROW, ROW | {"ratio": 1.8}, far], link="href")
    top = drawn.layout.yaxis.range[1]
    assert 1.8 < top < 3
    mark = next(trace for trace in drawn.data if trace.name == "out of line")
    assert list(mark.y) == [top]
    assert list(mark.customdata) == ["/b"]
    assert [note.text for note in drawn.layout.annotations] == ["B, 12.3 times"]
    edge, within = (
        next(trace for trace in funnel([ROW, row]).data if trace.name == "out of line")
        for row in (far, far | {"ratio": 3.9})
    )
    assert edge.marker.symbol != within.marker.symbol
    assert list(within.y) == [3.9]


def test_what_cannot_be_compared_has_no_point() -> None:
    found = traces({}, {"name": "C", "ratio": None, "expected": None})
    assert len(found["in line"]["x"]) + len(found["out of line"]["x"]) == 1
    assert funnel([ROW | {"ratio": None}]).layout.annotations[0].text


# Poisson tables: of a mean of 10, 4 or more and 17 or fewer hold 95 % (1.0 % below,
# 1.4 % above; 5 and 16 would leave out 2.9 % and 2.7 %).
# Beside others that found very many.
def test_the_limits_at_ten_expected() -> None:
    limits = [
        trace
        for trace in funnel([ROW, ROW | {"nonconforming": 10**6}]).to_dict()["data"]
        if trace["name"] == "95 % limit"
    ]
    nearest = min(range(60), key=lambda at: abs(limits[0]["x"][at] - 10))
    low, high = sorted(trace["y"][nearest] for trace in limits)
    assert abs(low - 0.4) < 0.01
    assert abs(high - 1.7) < 0.02


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (4.1, 90, [5, 10, 20, 50]),
        (0.3, 2, [0.5, 1, 2]),
        (800, 12_000, [1000, 2000, 5000, 10_000]),
        # Between two steps, and about one: the next beside them.
        (24, 37.5, [20, 50]),
        (17, 26, [10, 20, 50]),
    ],
)
def test_ticks_of_a_log_axis(low: float, high: float, ticks: list[float]) -> None:
    assert log_ticks(low, high) == pytest.approx(ticks)


def test_the_axis_is_labelled_with_whole_numbers_that_are_in_sight() -> None:
    rows = [ROW | {"expected": expected} for expected in (0.6, 30.0, 1200.0)]
    for shown in (rows, rows[1:2]):
        axis = funnel(shown).layout.xaxis
        low, high = (10**end for end in axis.range)
        assert all(low < tick < high for tick in axis.tickvals)
        labels = [text.replace("\u202f", "") for text in axis.ticktext]
        assert [float(label) for label in labels] == pytest.approx(axis.tickvals)
        assert len(labels) > 1
