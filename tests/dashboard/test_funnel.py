"""The funnel: who is placed, who is named, and where its limits run."""

from itertools import pairwise
from typing import Any

from dashboard.figures.funnel import funnel

ROW: dict[str, Any] = {
    "name": "A",
    "nonconforming": 10,
    "expected": 10.0,
    "ratio": 1.0,
    "variation": 1.0,
    "flagged": False,
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
    symbols = {found[name]["marker"]["symbol"] for name in ("in line", "out of line")}
    assert len(symbols) == 2
    drawn = funnel([ROW, ROW | flagged]).layout
    assert [note.text for note in drawn.annotations] == ["B"]


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


def test_what_cannot_be_compared_has_no_point() -> None:
    found = traces({}, {"name": "C", "ratio": None, "expected": None})
    assert len(found["in line"]["x"]) + len(found["out of line"]["x"]) == 1
    assert funnel([ROW | {"ratio": None}]).layout.annotations[0].text


# Poisson tables: of a mean of 10, 4 or more and 17 or fewer hold 95 % (1.0 % below,
# 1.4 % above; 5 and 16 would leave out 2.9 % and 2.7 %).
def test_the_limits_at_ten_expected() -> None:
    limits = [
        trace
        for trace in funnel([ROW]).to_dict()["data"]
        if trace["name"] == "95 % limit"
    ]
    nearest = min(range(60), key=lambda at: abs(limits[0]["x"][at] - 10))
    low, high = sorted(trace["y"][nearest] for trace in limits)
    assert abs(low - 0.4) < 0.01
    assert abs(high - 1.7) < 0.02
