"""The sentence on top of Sites, of a store whose worst finding is no torque."""

from collections.abc import Iterator

import duckdb
import pytest

from dashboard.address import parse_view
from dashboard.pages import sites
from dashboard.pages.common import rate_cell
from dashboard.sheets.read import read_sheet
from queries.readers.choices import Choices, read_choices
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, rows, table, text

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
    said = _lead(con, choices, "")
    # The others' 2 of 100 each: 2 expected, 40 found. B: 15 of 300 others, 25 found.
    first = "Invented site A on hole cleaning, 40 nonconforming where 2.0 would be"
    second = "Invented site B on setting torque, 25 nonconforming where 5.0 would be"
    assert "20.0 times" in said and "5.0 times" in said
    assert 0 < said.index(first) < said.index(second)
    # 46 of 400 and 40 of 400.
    assert "hole cleaning 11.5 % (46/400)" in said
    assert "setting torque 10.0 % (40/400)" in said


def test_without_a_check_the_chart_says_which_it_shows(
    con: Con, choices: Choices
) -> None:
    says = "No check is chosen: shown is setting torque."
    assert says in text(sites.render(con, parse_view("", choices), choices))
    chosen = parse_view("?check=setting_torque", choices)
    assert says not in text(sites.render(con, chosen, choices))


def test_with_a_check_only_that_is_answered(con: Con, choices: Choices) -> None:
    said = _lead(con, choices, "?check=setting_torque")
    assert "Invented site B, 25 nonconforming" in said
    assert "Invented site A" not in said


def test_one_site_is_said_what_its_sheet_says(con: Con, choices: Choices) -> None:
    view = parse_view("?sites=A", choices)
    sheet = read_sheet(con, "site", "A", view.selection, choices)
    assert "hole cleaning (20.0 times expected)" in sheet.lead
    assert sheet.lead in lead(sites.render(con, view, choices))


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
            sites.render(con, parse_view(search, choices), choices),
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
