"""The sentence on top of Sites, of a store whose worst finding is no torque."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest
from dash import html

from dashboard.address import parse_view
from dashboard.kept import read_kept_quiet
from dashboard.later import render_part
from dashboard.pages import LATER, sites
from dashboard.pages.common import rate_cell
from dashboard.sheets.read import read_sheet
from queries.readers.choices import Choices, read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, rows, table, tables, text, walk

Con = duckdb.DuckDBPyConnection

DAYS = [f"2026-05-{day:02}" for day in (4, 5, 6, 7, 8)]


def _anchors(bad_cleaning: int, bad_torque: int, number: int = 100) -> list[Row]:
    """Anchors in turn over five days; so many brushed too little, so many loose."""
    return [
        {
            "installed_on": DAYS[at % 5],
            "brush_count": "0" if at < bad_cleaning else "4",
            "setting_torque_nm": "20" if at >= number - bad_torque else "55",
        }
        for at in range(number)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Hole cleaning: A 40 of 100, elsewhere 2. Torque: B 25 of 100, elsewhere 5."""
    return build_store(
        tmp_path_factory.mktemp("lead"),
        settings=[{}],
        sites={
            "A": _anchors(40, 5),
            "B": _anchors(2, 25),
            "C": _anchors(2, 5),
            "D": _anchors(2, 5),
        },
    )


@pytest.fixture
def con(store: Store) -> Iterator[Con]:
    """A cursor on its edition."""
    with store.reader() as cursor:
        yield cursor


@pytest.fixture
def choices(con: Con) -> Choices:
    """What its filters offer."""
    return read_choices(con)


def _lead(con: Con, choices: Choices, search: str) -> str:
    page = sites.render(con, parse_view(search, choices), choices)
    return lead(page).replace("\xa0", " ").replace("\u202f", " ")


def test_without_a_check_all_headline_checks_are_answered_worst_first(
    con: Con, choices: Choices
) -> None:
    first, second, last = _lead(con, choices, "").splitlines()
    # The others' 2 of 100 each: 2 expected, 40 found, all the doing of like work.
    assert first.startswith(
        "Of the headline checks, ask first about hole cleaning at Invented site A: "
        "40 nonconforming where 2.0 "
        "would be expected at the others' rates, 20.0 times"
    )
    assert first.endswith(
        "Of the +38.0 points between it and the others its mix of work makes 0.0, its "
        "doing +38.0."
    )
    # 15 of 300 others, 25 of its 100.
    assert second.startswith(
        "Out of line on these as well: Invented site B on setting torque (5.0 times "
        "expected). "
    )
    # Whether a rate near nothing can be believed, of all four: weighed later.
    assert "Being weighed …" in last
    assert "Being weighed …" not in _lead(con, choices, "?check=hole_cleaning")


# 46 of 400 and 40 of 400.
def test_all_sites_together_head_the_headline_table(con: Con, choices: Choices) -> None:
    page = sites.render(con, parse_view("", choices), choices)
    grid = table(page, "Headline checks by site")
    total = dict(zip(grid["heads"], rows(grid)[0], strict=True))
    assert total["Site"] == "All shown"
    assert total["Hole cleaning"].replace("\xa0", " ") == "11.5 % 46/400"
    assert total["Setting torque"].replace("\xa0", " ") == "10.0 % 40/400"
    assert total["Sheet"] == ""


def test_without_a_check_the_chart_shows_what_stands_out_and_says_so(
    con: Con, choices: Choices
) -> None:
    page = sites.render(con, parse_view("", choices), choices)
    says = "No check is chosen: shown is hole cleaning, on which a site is furthest"
    assert says in text(page)
    assert table(page, "Hole cleaning by site")
    # Its later parts ask of the same check.
    asked = {part.id["check"] for part in walk(page) if _is_later(part)}
    assert asked == {"hole_cleaning"}
    chosen = sites.render(con, parse_view("?check=setting_torque", choices), choices)
    assert "No check is chosen" not in text(chosen)
    assert table(chosen, "Setting torque by site")
    quiet = sites.render(con, parse_view("?sites=C", choices), choices)
    assert "No check is chosen: shown is setting torque." in text(quiet)


def _is_later(part: Any) -> bool:
    place = getattr(part, "id", None)
    return isinstance(place, dict) and place["type"] == "later"


# What the browser sends back as the check is not taken on trust.
@pytest.mark.parametrize(
    ("search", "sent", "shown"),
    [
        ("", "hole_cleaning", "hole_cleaning"),
        ("?check=tilt", "hole_cleaning", "tilt"),
        ("", "1; drop table", "setting_torque"),
    ],
)
def test_a_part_shows_the_check_that_its_page_does(
    store: Store, search: str, sent: str, shown: str
) -> None:
    parts = {"one": lambda _con, view, _choices: html.P(view.check_name)}
    assert text(render_part(store, parts, "one", search, sent)) == shown


# As in the lead, with the list of every check; whichever check is chosen.
@pytest.mark.parametrize("search", ["", "?check=tilt"])
def test_what_stands_out_on_any_check(con: Con, choices: Choices, search: str) -> None:
    part = LATER["standing out"](con, parse_view(search, choices), choices)
    found = [
        {
            head: cell.replace("\xa0", " ")
            for head, cell in zip(grid["heads"], row, strict=True)
        }
        for grid in tables(part)
        for row in rows(grid)
    ]
    assert [(row["Site"][-1], row["Check"]) for row in found] == [
        ("A", "Hole cleaning"),
        ("B", "Setting torque"),
    ]
    first = found[0]
    assert first["Rate"] == "40.0 % 40/100"
    assert first["Expected"] == "2.0 % 2.0"
    assert first["Times expected"].startswith("20.0 ")
    assert (first["From mix, points"], first["From doing, points"]) == ("0.0", "+38.0")
    assert first["Answers missing"] == "0.0 %"
    one = LATER["standing out"](con, parse_view("?sites=C", choices), choices)
    assert "On none of the 14 checks is a site out of line" in text(one)
    assert not tables(one)


# B's last anchor is 60 days before the newest of all; C's 59.
def test_a_site_that_went_quiet_is_named(tmp_path: Path) -> None:
    store = build_store(
        tmp_path,
        sites={
            "A": [{"installed_on": "2026-06-30"}],
            "B": [{"installed_on": "2026-05-01"}, {"installed_on": "2026-04-01"}],
            "C": [{"installed_on": "2026-05-02"}],
        },
    )
    with store.reader() as con:
        choices = read_choices(con)
        assert read_kept_quiet(con, Selection()) == [("B", date(2026, 5, 1))]
        # Nothing later is looked at, and only what is chosen is said.
        assert read_kept_quiet(con, Selection(to_on=date(2026, 6, 1))) == []
        assert read_kept_quiet(con, Selection(site_codes=("C",))) == []
        assert read_kept_quiet(con, Selection(crew_codes=("NOBODY",))) == [
            ("B", date(2026, 5, 1))
        ]
        said = _lead(con, choices, "")
        alone = _lead(con, choices, "?sites=B")
    quiet = (
        "Nothing installed, by any crew and of any size, for 60 days or more before "
        "the newest anchor of all, which is no good figure either: "
    )
    assert f"{quiet}Invented site B (last on 2026-05-01)." in said
    assert quiet in alone


def test_with_a_check_only_that_is_answered(con: Con, choices: Choices) -> None:
    said = _lead(con, choices, "?check=setting_torque")
    assert "Invented site B, 25 nonconforming" in said
    assert "Invented site A" not in said


def test_one_site_is_said_what_its_sheet_says(con: Con, choices: Choices) -> None:
    view = parse_view("?sites=A", choices)
    sheet = read_sheet(con, "site", "A", view.selection, choices)
    assert "hole cleaning (20.0 times expected)" in sheet.lead
    assert sheet.lead in lead(sites.render(con, view, choices)).splitlines()


# By hand, of 10 anchors: 4 holes of 80 mm where 90 are required, 2 torques of 20 Nm.
# Hole depth is no headline check, and there is no other site to be out of line with.
def test_the_only_site_is_told_its_commonest_faults(tmp_path: Path) -> None:
    rows: list[Row] = [
        {
            "hole_depth_mm": "80" if at < 4 else "92",
            "setting_torque_nm": "20" if at < 2 else "55",
        }
        for at in range(10)
    ]
    store = build_store(tmp_path, rows)
    with store.reader() as con:
        choices = read_choices(con)
        said = lead(sites.render(con, parse_view("", choices), choices))
    assert (
        "Most often nonconforming: hole depth 40.0\xa0% (4/10) and setting torque "
        "20.0\xa0% (2/10)."
    ) in said
    assert "Of the anchors judged 4/10 are nonconforming" in said
    stands_out = text(render_part(store, LATER, "standing out", ""))
    assert "Nothing compares" in stands_out and "out of line" not in stands_out


def test_one_site_in_line_on_a_check_is_spoken_of_alone(
    con: Con, choices: Choices
) -> None:
    said = _lead(con, choices, "?sites=A&check=setting_torque")
    assert "Invented site A is not out of line for its mix" in said
    assert "it would be flagged only at a true rate of" in said
    assert "No site" not in said and "half of the sites" not in said


def test_shown_sites_have_the_figures_that_all_have(con: Con, choices: Choices) -> None:
    one, every = (
        table(
            LATER["site mix"](con, parse_view(search, choices), choices),
            "Hole cleaning, each site for its own mix",
        )["rows"]
        for search in ("?sites=A&check=hole_cleaning", "?check=hole_cleaning")
    )
    assert len(one) == 1 and one[0] in every


def test_a_selection_that_nothing_matches_is_said_and_no_more(
    con: Con, choices: Choices
) -> None:
    page = sites.render(con, parse_view("?from=2030-01-01", choices), choices)
    assert lead(page) == "No installation matches these filters."
    said = text(page)
    for nonsense in ("0 of 0", "has lost", "out of line", "On this page"):
        assert nonsense not in said


def test_a_filled_mark_is_out_of_line_wherever_it_stands(
    con: Con, choices: Choices
) -> None:
    """B's torque is out of line; A's cleaning is too, on a page that shows torque."""
    page = sites.render(con, parse_view("?check=setting_torque", choices), choices)
    grid = table(page, "Headline checks by site")
    marks = {
        (row[0][-1], head): cell[:1]
        for row in rows(grid)
        for head, cell in zip(grid["heads"], row, strict=True)
    }
    filled = {where for where, mark in marks.items() if mark == "▲"}
    assert filled == {("A", "Hole cleaning"), ("B", "Setting torque")}


def test_an_interval_above_the_others_alone_is_hollow() -> None:
    row = {
        "judged": 100,
        "nonconforming": 9,
        "rate": 0.09,
        "unrecorded": 0,
        "unreadable": 0,
        "position": "above",
        "href": "/",
    }
    assert rate_cell(row).text[0] == "△"
    assert rate_cell(row | {"flagged": True}).text[0] == "▲"
