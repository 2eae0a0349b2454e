"""Records of one torque wrench: the same on the page, in the terminal and in files."""

import json
from pathlib import Path

import pytest

from dashboard.app import create_app, route
from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import lead, rows, table, text, whole_answer

# Of W-7 at NORTH four attempts, one of them abandoned and one without an outcome; at
# SOUTH one anchor, logged in small letters. A's hole is too shallow: h_1 is 90 mm.
NORTH: list[Row] = [
    {"record_id": "A", "wrench_code": "W-7", "hole_depth_mm": "70"},
    {"record_id": "B", "wrench_code": "W-7", "outcome": "abandoned"},
    {"record_id": "C", "wrench_code": "W-7", "outcome": ""},
    {"record_id": "D", "wrench_code": "W-7", "outcome": "replaced"},
    {"record_id": "E", "wrench_code": "W-8"},
    {"record_id": "F", "wrench_code": ""},
]
SOUTH: list[Row] = [{"record_id": "G", "wrench_code": "w-7"}]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder: Path = tmp_path_factory.mktemp("wrench")
    return build_store(folder, sites={"NORTH": NORTH, "SOUTH": SOUTH})


@pytest.mark.parametrize("code", ["W-7", "w-7"])
@pytest.mark.parametrize(
    ("search", "options", "expected"),
    [
        ("", [], ["A", "B", "C", "D", "G"]),
        ("&sites=NORTH", ["--site", "NORTH"], ["A", "B", "C", "D"]),
        # Every anchor that was set: B is none.
        (
            "&outcome=not-abandoned",
            ["--outcome", "not-abandoned"],
            ["A", "C", "D", "G"],
        ),
        ("&outcome=unrecorded", ["--outcome", "unrecorded"], ["C"]),
    ],
)
def test_page_terminal_and_file_hold_the_same_records(
    store: Store,
    capsys: pytest.CaptureFixture[str],
    code: str,
    search: str,
    options: list[str],
    expected: list[str],
) -> None:
    address = f"?verdict=any&wrench={code}{search}"
    page = route(store, "/records", address)[0]
    shown = [row[0].split()[0] for row in rows(table(page, "Records that match"))]
    assert shown == expected
    assert "wrench W-7" in lead(page)
    asked = ["records", "--store", str(store.folder), "--verdict", "any", *options]
    asked += ["--wrench", code]
    assert main([*asked, "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [row["record_id"] for row in told] == expected
    assert main([*asked, "--format", "csv"]) == 0
    file = create_app(store).server.test_client().get("/csv/records" + address)
    assert file.get_data(as_text=True) == capsys.readouterr().out


def test_a_wrench_in_no_log_is_none_in_words(store: Store) -> None:
    page = route(store, "/records", "?verdict=any&wrench=W-9")[0]
    assert lead(page) == "No record matches: wrench W-9."


def test_counts_by_ratio_are_left_out_as_they_know_no_wrench(store: Store) -> None:
    heading = "Nonconforming anchors by indicative ratio"
    assert heading in text(whole_answer(store, "/records", ""))
    of_wrench = text(whole_answer(store, "/records", "?wrench=W-7"))
    assert "1 record matches" in of_wrench
    assert heading not in of_wrench
