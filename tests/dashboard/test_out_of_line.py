"""What is said of who is out of line where a ratio or a rate to see is none."""

from pathlib import Path

import pytest

from dashboard.address import parse_view
from dashboard.compared import add_others
from dashboard.comparison_words import (
    comparison_words,
    expected_words,
    times_words,
)
from dashboard.counter_headline import comparison_counter
from dashboard.headline_words import flagged_words
from dashboard.later import render_part
from dashboard.pages import LATER
from dashboard.pages import sites as sites_page
from dashboard.pages.compared_groups import _funnel_words
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.readers.comparison import read_comparison
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, text

TORQUE = Selection(check_names=("setting_torque",))


def anchors(judged: int, loose: int) -> list[Row]:
    """So many anchors over ten days, the loose ones spread over them."""
    return [
        {
            "installed_on": f"2026-05-{4 + number % 10:02}",
            "setting_torque_nm": "20" if number < loose else "55",
        }
        for number in range(judged)
    ]


def built(folder: Path, **sites: tuple[int, int]) -> Store:
    return build_store(
        folder,
        settings=[{}],
        sites={site: anchors(*counts) for site, counts in sites.items()},
    )


def said(store: Store, selection: Selection = TORQUE) -> str:
    with store.reader() as con:
        return comparison_words(
            read_comparison(con, "site", "setting_torque", selection), "site"
        ).replace("\xa0", " ")


# By hand: a single anchor is flagged at no true rate, and seven of nine sites are such.
def test_sites_of_one_anchor_count_among_those_not_to_be_seen(tmp_path: Path) -> None:
    few = {f"S{number}": (1, 0) for number in range(7)}
    store = built(tmp_path, A=(200, 40), B=(200, 40), **few)
    assert "half of the sites would be flagged at no rate at all" in said(store)
    with store.reader() as con:
        weighed = read_comparison(con, "site", "setting_torque", TORQUE)
        assert "on setting torque at no rate at all" in flagged_words(
            {"setting_torque": weighed}, {}
        )[0].replace("\xa0", " ")
        alone = Selection(check_names=("setting_torque",), site_codes=("S1",))
    assert "it would be flagged at no rate at all" in said(store, alone)


@pytest.mark.parametrize(("days", "is_said"), [(1, True), (5, False)])
def test_a_bad_day_is_not_taken_for_a_bad_site(
    tmp_path: Path, days: int, *, is_said: bool
) -> None:
    """Of three sites a day each, or five: two, or twelve, beside the first of each."""
    sites = {
        name: [
            row | {"installed_on": f"2026-05-{4 + at % days:02}", "crew_code": name}
            for at, row in enumerate(anchors(60, loose))
        ]
        for name, loose in (("A", 20), ("B", 1), ("C", 1))
    }
    store = build_store(tmp_path, settings=[{}], sites=sites)
    words = "There is hardly more than a day of each site: a bad day and a bad site"
    assert (words in said(store)) == is_said
    with store.reader() as con:
        choices = read_choices(con)
        first = lead(sites_page.render(con, parse_view("", choices), choices))
    assert (words in first) == is_said
    retrain = text(render_part(store, LATER, "retrain first", ""))
    assert ("a day of each crew" in retrain) == is_said


def test_what_all_sites_share_is_said_where_none_is_out_of_line(tmp_path: Path) -> None:
    """All 300 are loose: no site stands out, and nobody may think that well."""
    store = built(tmp_path, A=(100, 100), B=(100, 100), C=(100, 100))
    with store.reader() as con:
        choices = read_choices(con)
        said = lead(sites_page.render(con, parse_view("", choices), choices))
    assert "No site is out of line" in said
    assert "Nonconforming of the anchors judged, over all: " in said
    assert "setting torque 100.0\xa0% (300/300)." in said


def test_a_site_whose_others_never_fail_is_named_under_the_picture(
    tmp_path: Path,
) -> None:
    clean = {f"G{number}": (100, 0) for number in range(4)}
    store = built(tmp_path, BAD=(100, 15), **clean)
    with store.reader() as con:
        groups = read_comparison(con, "site", "setting_torque", TORQUE).groups
    rows = [row | {"name": row["group"]} for row in groups.to_dicts()]
    words = _funnel_words(rows, "site")
    assert "1 of 5 sites is out of line" in words
    assert "Without a place here, as none would be expected: BAD." in words


# WORSE would be named last by its ratio, and is the clearest.
def test_of_those_out_of_line_one_without_ratio_comes_first(tmp_path: Path) -> None:
    hard: Row = {"setting_code": "M16-84"}
    sites = {f"G{number}": anchors(100, 2) for number in range(4)}
    sites["TWICE"] = anchors(100, 25)
    sites["WORSE"] = [row | hard for row in anchors(100, 60)]
    sites["LIKE"] = [row | hard for row in anchors(100, 0)]
    numbered = {
        site: [{"record_id": f"R{n}"} | row for n, row in enumerate(rows)]
        for site, rows in sites.items()
    }
    settings: list[Row] = [{}, {"setting_code": "M16-84", "anchor_size": "M16"}]
    store = build_store(tmp_path, settings=settings, sites=numbered)
    named = said(store).partition("orientations: ")[2]
    assert named.index("WORSE, 60") < named.index("TWICE, 25")
    assert "WORSE, 60 nonconforming where none would be expected" in named


def test_one_anchor_is_no_hundred_times(tmp_path: Path) -> None:
    """One of one, where 2 of 1000 elsewhere make 0.002 expected: both are said."""
    store = built(tmp_path, ONE=(1, 1), A=(500, 1), B=(500, 1))
    with store.reader() as con:
        groups = read_comparison(con, "site", "setting_torque", TORQUE).groups
    [row] = groups.filter(groups["group"] == "ONE").to_dicts()
    assert row["ratio"] > 100
    assert times_words(row) == "1 where fewer than 0.1 would be expected"
    assert "times" not in expected_words(row)


def test_of_chosen_sites_none_is_said_of_these_alone(tmp_path: Path) -> None:
    good = {f"G{number}": (200, 8) for number in range(4)}
    store = built(tmp_path, BAD=(200, 60), MID=(200, 22), **good)
    chosen = Selection(check_names=("setting_torque",), site_codes=("MID", "G1"))
    assert said(store, chosen).startswith("None of these 2 sites is out of line")
    with store.reader() as con:
        weighed = read_comparison(con, "site", "setting_torque", chosen)
        rates = add_others(read_rates(con, ["site"], TORQUE), "site")
    counter = (
        comparison_counter(rates.to_dicts(), weighed.groups.to_dicts(), "site") or ""
    )
    assert "; none of these 2 sites is out of line." in counter


def test_a_sheet_leads_with_what_nobody_recorded(tmp_path: Path) -> None:
    silent: list[Row] = [row | {"brush_count": ""} for row in anchors(40, 2)]
    sites = {"MUTE": silent, "A": anchors(40, 2), "B": anchors(40, 2)}
    store = build_store(tmp_path, settings=[{}], sites=sites)
    with store.reader() as con:
        choices = read_choices(con)
        said = [
            read_sheet(con, "site", site, Selection(), choices).lead
            for site in ("MUTE", "A")
        ]
    assert "Nothing can be judged on hole cleaning (40 anchors)" in said[0]
    assert "hole cleaning" not in said[1]


# A's 195 of M16 stand alone: that nobody else set any excuses none of the 78. What
# others did too, 5 of M12, conforms.
def test_work_that_nobody_else_did_excuses_nobody(tmp_path: Path) -> None:
    hard: Row = {"setting_code": "M16-84"}
    sites = {f"G{number}": anchors(200, 8) for number in range(3)}
    sites["A"] = [row | hard for row in anchors(195, 78)] + anchors(5, 0)
    numbered = {
        site: [row | {"record_id": f"R{n}"} for n, row in enumerate(rows)]
        for site, rows in sites.items()
    }
    settings: list[Row] = [{}, {"setting_code": "M16-84", "anchor_size": "M16"}]
    found = said(build_store(tmp_path, settings=settings, sites=numbered))
    assert "its mix of work makes" not in found
    assert (
        "No other site has a like of 195 of the 200 of A, 78 of them nonconforming: "
        "nothing tells."
    ) in found
