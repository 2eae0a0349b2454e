"""Sites of which one logs no orientation are compared without it, and told so."""

import json
from pathlib import Path

import pytest

from dashboard.address import parse_view
from dashboard.command import main
from dashboard.later import render_part
from dashboard.pages import LATER, sites
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, text

WITHOUT = "compared without orientation"


def anchors(count: int, bad: int, orientation: str) -> list[Row]:
    """Return anchors over ten days, so many of them with a torque of 75 Nm."""
    return [
        {
            "installed_on": f"2026-05-{4 + number % 10:02}",
            "orientation": orientation,
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for number in range(count)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    logs = {"EAST": anchors(100, 30, ""), "WEST": anchors(100, 5, "wall")}
    return build_store(tmp_path_factory.mktemp("without"), sites=logs)


def test_the_terminal_says_what_is_left_out(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--store", str(store.folder), "--check", "setting_torque"]
    assert main(["compare", *options, "--format", "json"]) == 0
    east, west = json.loads(capsys.readouterr().out)
    # At the other's rate: 100 x 5/100 and 100 x 30/100.
    assert (east["expected"], west["expected"]) == (pytest.approx(5), pytest.approx(30))
    assert east["without"] == west["without"] == "orientation"
    assert main(["compare", *options]) == 0
    said = capsys.readouterr().out
    assert "EAST, 30 nonconforming where 5.0 would be expected" in said
    assert f"EAST and WEST are {WITHOUT}, which they or the others do not log" in said


def test_the_pages_say_what_is_left_out(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        view = parse_view("", choices)
        assert WITHOUT in lead(sites.render(con, view, choices))
        sheet = read_sheet(con, "site", "EAST", view.selection, choices)
    assert any(
        "Compared without orientation, which this site" in one for one in sheet.cautions
    )
    assert WITHOUT in text(render_part(store, LATER, "standing out", ""))


def test_where_both_log_it_nothing_is_left_out(tmp_path: Path) -> None:
    logs = {"EAST": anchors(60, 20, "wall"), "WEST": anchors(60, 3, "wall")}
    store = build_store(tmp_path, sites=logs)
    with store.reader() as con:
        choices = read_choices(con)
        said = lead(sites.render(con, parse_view("", choices), choices))
    assert "would be expected" in said and WITHOUT not in said
