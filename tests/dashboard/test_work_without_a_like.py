"""Work that no other group did has nothing beside it: not its failures either."""

import json

import pytest

from dashboard.address import parse_view
from dashboard.command import main
from dashboard.figures.funnel import funnel
from dashboard.later import render_part
from dashboard.pages import LATER, sites
from dashboard.sheets.figures import read_figures
from queries.readers.choices import read_choices
from queries.readers.comparison import read_comparison
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, tables, text

M16: Row = {
    "setting_code": "M16-84",
    "anchor_size": "M16",
    "drill_diameter_mm": 16,
}
# 10 of 100 where the others have 60 of 2000, and 60 of 200 in a size of its own.
EXPECTED = 100 * 60 / 2000
RATIO = 10 / EXPECTED


def anchors(count: int, bad: int, **changes: str) -> list[Row]:
    """Return anchors over fifty days, so many of them with a torque of 20 Nm."""
    return [
        {
            "installed_on": f"2026-{3 + day // 28:02}-{1 + day % 28:02}",
            "setting_torque_nm": "20" if number < bad else "55",
            **changes,
        }
        for number in range(count)
        for day in [number % 50]
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    alone = anchors(200, 60, setting_code="M16-84")
    logs = {
        "EAST": anchors(100, 10) + alone,
        "WEST": anchors(1000, 30),
        "NORTH": anchors(1000, 30),
    }
    folder = tmp_path_factory.mktemp("alone")
    return build_store(folder, sites=logs, settings=[{}, M16])


def test_the_terminal_has_what_is_beside_the_expected(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--store", str(store.folder), "--check", "setting_torque"]
    assert main(["compare", *options, "--format", "json"]) == 0
    east = json.loads(capsys.readouterr().out)[0]
    assert (east["nonconforming"], east["silent_nonconforming"]) == (70, 60)
    assert (east["judged"], east["silent_judged"]) == (300, 200)
    assert east["expected"] == pytest.approx(EXPECTED)
    assert east["ratio"] == pytest.approx(RATIO)
    assert main(["compare", *options]) == 0
    said = capsys.readouterr().out
    assert (
        "EAST, 10 nonconforming (and 60 in work that no other did) where 3.0 would be "
        "expected at the others' rates, 3.3 times" in said
    )


def test_pages_divide_by_what_compares(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        said = lead(sites.render(con, parse_view("", choices), choices))
    assert "10 nonconforming (and 60 in work that no other did) where 3.0 would" in said
    part = render_part(store, LATER, "standing out", "")
    assert "3.0, beside 10 of its own; 200 without a like" in text(part)
    [row] = tables(part)[0]["rows"]
    # 3 expected of the 100 that compare.
    assert row[3]["text"] == "3.0\N{NO-BREAK SPACE}%"


def test_the_excess_and_the_picture_leave_it_out(store: Store) -> None:
    with store.reader() as con:
        figures, _ = read_figures(con, "site", "EAST", Selection())
        groups = read_comparison(con, "site", "setting_torque", Selection()).groups
    [torque] = [one for one in figures if one.check_name == "setting_torque"]
    assert torque.excess == pytest.approx(10 - EXPECTED)
    drawn = funnel([row | {"name": "x"} for row in groups.to_dicts()]).to_json()
    assert "10 nonconforming, 3.0 expected: 3.33 times" in drawn
