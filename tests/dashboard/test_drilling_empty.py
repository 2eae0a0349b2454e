"""Drilling where holes were not timed: words in place of empty charts."""

import warnings
from pathlib import Path

from dash import html

from tests.builders import Row, build_store
from tests.dashboard.components import text, walk, whole_answer

SIZES = (
    {},
    {"setting_code": "M16-84", "anchor_size": "M16", "setting_torque_nm": 110},
    {"setting_code": "M20-98", "anchor_size": "M20", "setting_torque_nm": 180},
)
UNTIMED = "no attempt with a depth was timed, and none was given up."


def timed(times: dict[str, list[str]]) -> dict[str, list[Row]]:
    """Return 40 holes a site, one a day, with its drilling times over and over."""
    return {
        site: [
            {
                "drill_s": own[number % len(own)],
                "installed_on": f"2026-{number // 20 + 4:02}-{number % 20 + 1:02}",
            }
            for number in range(40)
        ]
        for site, own in times.items()
    }


def page(tmp_path: Path, rows: list[Row]) -> html.Div:
    store = build_store(tmp_path, rows, settings=SIZES)
    return whole_answer(store, "/drilling", "")


def drawn(page: html.Div) -> list[str]:
    """Return the sizes of the panels that show seconds against depth."""
    ids = (getattr(one, "id", None) for one in walk(page))
    names = (one.get("name", "") for one in ids if isinstance(one, dict))
    return [name.removeprefix("drilling-") for name in names if "drilling-M" in name]


def test_sizes_without_a_timed_hole_have_no_panel(tmp_path: Path) -> None:
    rows: list[Row] = [
        {"drill_s": "14"},
        {"setting_code": "M16-84"},
        # Given up at 40 mm, and not timed: a hole that was lost.
        {"setting_code": "M20-98", "outcome": "abandoned", "hole_depth_mm": "40"},
    ]
    found = page(tmp_path, rows)
    assert drawn(found) == ["M12", "M20"]
    assert f"M16: {UNTIMED}" in text(found)


def test_without_any_timed_hole_nothing_is_drawn(tmp_path: Path) -> None:
    found = page(tmp_path, [{}, {"setting_code": "M16-84"}])
    assert drawn(found) == []
    assert f"M12 and M16: {UNTIMED}" in text(found)
    without = page(tmp_path / "none", [{"hole_depth_mm": ""}])
    assert "No hole with a depth matches." in text(without)


# A time that is the same for every hole was estimated: nothing is foretold from it.
def test_times_that_never_differ_give_no_model(tmp_path: Path) -> None:
    sites = timed({"EAST": ["20"], "MID": ["20"], "WEST": ["20"]})
    found = text(whole_answer(build_store(tmp_path, sites=sites), "/drilling", ""))
    lack = "those of this store do not, as where nobody measures them."
    assert found.count(lack) == 2
    fewer = timed({"EAST": ["20", "25"], "WEST": ["30", "20"]})
    store = build_store(tmp_path / "fewer", sites=fewer)
    found = text(whole_answer(store, "/drilling", ""))
    assert found.count("from 3 sites or more; this store has fewer.") == 2


def test_a_site_is_foretold_by_others_whose_times_never_differ(tmp_path: Path) -> None:
    sites = timed({"EAST": ["20"], "MID": ["20"], "WEST": ["17", "24", "38"]})
    with warnings.catch_warnings(action="error", category=RuntimeWarning):
        store = build_store(tmp_path, sites=sites)
        found = text(whole_answer(store, "/drilling", ""))
    assert "A model of drilling time needs" not in found
    assert "Trigger time only" in found


# Once "for M12 with not recorded", and "0/2 attempts were not timed".
def test_a_method_that_no_log_says(tmp_path: Path) -> None:
    rows: list[Row] = [{"drill_s": "14", "drill_method": ""} for _ in range(2)]
    said = text(page(tmp_path / "a", rows))
    assert "A good hole takes 14\xa0s for M12 by an unrecorded method, the time" in said
    assert "not timed" not in said
    assert "No model line for an unrecorded method (" in said
    assert "Thin: M12 by an unrecorded method (2 holes, 1 site)." in said
    assert "with not recorded" not in said
    hammered = text(page(tmp_path / "b", [{"drill_s": "14"}, {}]))
    assert "14\xa0s for M12 with hammer, the time" in hammered
    assert "1/2 attempts were not timed and are in no time here." in hammered
