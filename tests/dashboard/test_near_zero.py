"""A rate near nothing whose records are worth a look, on Sites and on the sheet."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import polars as pl
import pytest

from dashboard import near_zero
from dashboard.address import parse_view
from dashboard.pages import LATER
from dashboard.sheets.read import read_sheet
from queries.readers.choices import Choices, read_choices
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import hrefs, text
from tests.whole_line.planted import A_DAY, COPIED, DAYS, EDITED, HONEST, planted_rows

Con = duckdb.DuckDBPyConnection
TORQUE = ("setting_torque",)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Two crews without a nonconforming torque, both by what was done to the log."""
    return build_store(tmp_path_factory.mktemp("nearzero"), planted_rows())


@pytest.fixture
def con(store: Store) -> Iterator[Con]:
    """A cursor on its edition."""
    with store.reader() as cursor:
        yield cursor


@pytest.fixture
def choices(con: Con) -> Choices:
    """What its filters offer."""
    return read_choices(con)


def _part(con: Con, choices: Choices, search: str) -> str:
    found = text(LATER["too good"](con, parse_view(search, choices), choices))
    return found.replace("\xa0", " ").replace("\u202f", " ")


def test_the_two_crews_and_no_honest_one(con: Con, choices: Choices) -> None:
    whole = parse_view("", choices).selection
    found = near_zero.read_near_zero(con, whole, TORQUE)
    assert set(found["crew"]) == {EDITED, COPIED}
    for row in found.iter_rows(named=True):
        assert (row["batches"], row["doubted"]) == (DAYS, DAYS * A_DAY)
        # Seven others, of which the other planted crew shows nothing either.
        others = sum(
            near["nonconforming"]
            for near in _rates(con).iter_rows(named=True)
            if near["crew"] != row["crew"]
        )
        judged = (len(HONEST) + 1) * DAYS * A_DAY
        assert row["others_rate"] == pytest.approx(others / judged)


def _rates(con: Con) -> pl.DataFrame:
    return read_rates(
        con, ["crew"], parse_view("?check=setting_torque", read_choices(con)).selection
    )


def test_sites_says_so_and_leads_to_the_list(con: Con, choices: Choices) -> None:
    said = _part(con, choices, "?check=setting_torque")
    assert f"0.0 % nonconforming on setting torque (0/{DAYS * A_DAY})" in said
    assert f"{DAYS} batches, with {DAYS * A_DAY} of these judged" in said
    assert "its rate may be up to 100.0 %" in said
    assert "1 more crew likewise." in said
    # Without a check it is for the lead, of all four headline checks.
    assert _part(con, choices, "") == said.replace(
        "1 more crew", "1 more case of a crew and a check"
    )
    (href,) = hrefs(LATER["too good"](con, parse_view("", choices), choices))
    assert href.startswith("/crews?") and href.endswith("#doubts")
    assert "crews=" in href and "check=setting_torque" in href


def test_nothing_is_said_of_other_crews_and_checks(con: Con, choices: Choices) -> None:
    assert _part(con, choices, f"?crews={HONEST[0]}") == ""
    # Nobody's cleaning is anything but as required: no rate is nearer to nothing.
    assert _part(con, choices, "?check=hole_cleaning") == ""


def test_crews_say_so_beside_the_rate(con: Con, choices: Choices) -> None:
    view = parse_view(f"?crews={EDITED}&check=setting_torque", choices)
    assert "may not be so" in text(LATER["near zero"](con, view, choices))


def test_the_sheet_says_so(con: Con, choices: Choices) -> None:
    view = parse_view("", choices)
    sheet = read_sheet(con, "site", "SITE-1", view.selection, choices)
    (part,) = [each for each in sheet.parts_after if "worth a look" in each.heading]
    assert len(part.sentences) == 2
    assert all("setting torque" in each for each in part.sentences)
    assert "Records worth a look" in part.sentences[-1]


def test_the_crews_own_sheet_does_not_praise_it(con: Con, choices: Choices) -> None:
    selection = parse_view("", choices).selection
    sheet = read_sheet(con, "crew", EDITED, selection, choices)
    first = sheet.parts_before[0]
    assert first.heading == "Near nothing, and worth a look"
    assert "setting torque" in first.sentences[0]
    parts = {part.heading: " ".join(part.sentences) for part in sheet.parts_after}
    assert "setting torque" not in parts["What is fine, and what could not be seen"]


def test_a_crew_is_not_among_its_others(store: Store, tmp_path: Path) -> None:
    """What the crew did elsewhere, half of it bad, changes no rate of all others."""
    elsewhere: list[Row] = [
        {
            "crew_code": EDITED,
            "installed_on": f"2026-05-{1 + number % 28:02}",
            "setting_torque_nm": "20" if number % 2 else "55",
        }
        for number in range(200)
    ]
    sites = {"SITE-1": planted_rows(), "SITE-2": elsewhere}
    both = build_store(tmp_path, sites=sites)
    with store.reader() as alone, both.reader() as con:
        rates = [
            near_zero.read_near_zero(each, Selection(), TORQUE)
            .filter(pl.col("site") == "SITE-1", pl.col("crew") == EDITED)["others_rate"]
            .to_list()
            for each in (alone, con)
        ]
    assert rates[0] == rates[1] and rates[0][0] > 0
