"""The funnel: who is placed, who is named, and where its limits run."""

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
    found = traces({}, {"name": "B", "ratio": 3.0, "flagged": True, "href": "/b"})
    assert list(found["in line"]["x"]) == [10.0]
    assert found["in line"].get("text") is None
    assert list(found["out of line"]["text"]) == ["B"]
    assert list(found["out of line"]["customdata"]) == ["/b"]
    assert (
        found["in line"]["marker"]["symbol"] != found["out of line"]["marker"]["symbol"]
    )


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
