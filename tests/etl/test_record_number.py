"""Record numbers that begin again: known by what they count within.

Expected identities follow the manual's sentence on `within`, by hand.
"""

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from etl.intake import IntakeResult
from etl.receipt import Receipt
from etl.site_map import SiteMap, read_site_map
from etl.unload import unload
from queries.store import Store
from tests.builders import NOW, Row, build_store, load, write_csv
from tests.etl.correcting import given_back, open_rejects, sent_again
from tests.examples import examples

MAP = """
[site]
code = "DAILY"
name = "Invented site that numbers every day"
time_zone = "Europe/Madrid"
[files]
match = "daily*"
[dates]
day_first = true
[columns]
record_id = {record_id}
installed_on = "Day"
installed_time = "Time"
crew_code = "Crew"
setting_code = {{from = "Code", fill_down = true}}
"""
DAY_AND_CREW = '{from = "No.", within = ["Day", "Crew"]}'
WITH_LEVEL = '{from = "No.", within = ["Level", "Day"]}'
ROW: Row = {
    "No.": 1,
    "Day": "4.5.2026",
    "Time": "",
    "Crew": "C-03",
    "Level": "+1",
    "Code": "M12-68",
}


def write_daily(
    folder: Path,
    rows: Sequence[Row],
    record_id: str = DAY_AND_CREW,
    name: str = "daily.csv",
) -> Path:
    """Write a log, each row ROW with its changes, and its site map."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "daily.toml").write_text(MAP.format(record_id=record_id), "utf-8")
    return write_csv(folder / name, [ROW | row for row in rows])


def held(store: Store) -> list[str]:
    with store.reader() as con:
        found = con.execute("select record_id from installation order by all")
        return [record_id for (record_id,) in found.fetchall()]


def last(result: IntakeResult) -> Receipt:
    assert not result.failures, result.failures
    return result.receipts[-1]


def test_numbers_begin_again_with_each_day_and_crew(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows: list[Row] = [{}, {"No.": 2}, {"Crew": "C-04"}, {"Day": "5.5.2026"}]
    receipt = last(load(store, write_daily(tmp_path / "a", rows)))
    assert (receipt.loaded, receipt.rejected) == (4, 0)
    assert held(store) == [
        "2026-05-04/C3/1",
        "2026-05-04/C3/2",
        "2026-05-04/C4/1",
        "2026-05-05/C3/1",
    ]


# 46146 is 2026-05-04 in the 1900 system: 46023 is 2026-01-01, ISO/IEC 29500-1 18.17.4.
def test_another_way_to_write_day_or_crew_is_the_same_record(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    again: list[Row] = [
        {"Day": "04/05/2026"},
        {"Day": "2026-05-04"},
        {"Day": 46146},
        {"Crew": "c 3"},
        {"No.": " 1 "},
    ]
    receipt = last(load(store, write_daily(tmp_path / "a", [{}, *again])))
    assert (receipt.loaded, receipt.duplicate) == (1, len(again))
    assert held(store) == ["2026-05-04/C3/1"]


def test_a_workbook_and_json_lines_give_the_same_records(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    load(store, write_daily(tmp_path / "a", [{}, {"No.": 2}], WITH_LEVEL))
    folder = write_daily(tmp_path / "b", [], WITH_LEVEL).parent
    rows = [ROW, ROW | {"No.": 2}]
    with xlsxwriter.Workbook(folder / "daily.xlsx") as book:
        sheet = book.add_worksheet()
        for number, cells in enumerate([list(ROW), *(row.values() for row in rows)]):
            sheet.write_row(number, 0, list(cells))
    lines = "".join(f"{json.dumps(row)}\n" for row in rows)
    (folder / "daily.jsonl").write_text(lines, "utf-8")
    (folder / "daily.csv").unlink()
    for name in ("daily.xlsx", "daily.jsonl"):
        assert last(load(store, folder / name)).duplicate == 2
    assert held(store) == ["+1/2026-05-04/1", "+1/2026-05-04/2"]


# An area is kept as it stands: a level below ground is not the one above.
def test_a_column_that_is_nothing_else_may_tell_numbers_apart(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows: list[Row] = [{}, {"Level": "-1"}]
    load(store, write_daily(tmp_path / "a", rows, WITH_LEVEL))
    assert held(store) == ["+1/2026-05-04/1", "-1/2026-05-04/1"]


def test_a_time_may_be_the_number(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    by_time = '{from = "Time", within = ["Day", "Crew"]}'
    rows: list[Row] = [{"Time": "07:10"}, {"Time": "07:15"}]
    load(store, write_daily(tmp_path / "a", rows, by_time))
    assert held(store) == ["2026-05-04/C3/07:10", "2026-05-04/C3/07:15"]
    with store.reader() as con:
        [(at,)] = con.execute("select min(installed_at) from installation").fetchall()
    assert at.isoformat().startswith("2026-05-04T05:10")  # Madrid is at UTC+2 in May.


def test_what_is_lacking_is_said(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    lacking: dict[tuple[str, str], Row] = {
        ("no_record_id", "No.: '1', "): {"Level": ""},
        ("no_record_id", "No.: '2', "): {"No.": 2, "Level": "#REF!"},
        ("no_record_id", "No.: blank, "): {"No.": ""},
        ("no_date", "Day: blank, "): {"Day": "", "Level": ""},
        ("no_crew_code", "Crew: '-', "): {"Crew": "-", "Level": ""},
    }
    load(store, write_daily(tmp_path / "a", list(lacking.values()), WITH_LEVEL))
    with store.reader() as con:
        found = con.execute(
            "select reason_code, reason from rejected_row order by source_row"
        ).fetchall()
    for (code, words), (found_code, reason) in zip(lacking, found, strict=True):
        assert (found_code, reason[: len(words)]) == (code, words)
        assert code != "no_record_id" or reason.endswith(
            "expected a record's own number, and what it counts within: Level, Day"
        )


def test_a_corrected_row_is_known_by_what_it_counts_within(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    rows: list[Row] = [{}, {"No.": 2, "Crew": ""}]
    load(store, write_daily(tmp_path / "a", rows))
    [row] = given_back(store, capsys)
    result = sent_again(store, tmp_path / "mend.csv", [row | {"Crew": "C3"}])
    assert last(result).loaded == 1
    assert held(store) == ["2026-05-04/C3/1", "2026-05-04/C3/2"]
    assert open_rejects(store) == []


@settings(**examples(3))
@given(
    keys=st.sets(
        st.tuples(st.integers(1, 28), st.integers(1, 12), st.integers(1, 99)),
        min_size=1,
        max_size=20,
    ),
    data=st.data(),
)
def test_no_record_is_taken_for_another(
    tmp_path_factory: pytest.TempPathFactory,
    keys: set[tuple[int, int, int]],
    data: st.DataObject,
) -> None:
    folder = tmp_path_factory.mktemp("keys")
    store = build_store(folder)
    rows: list[Row] = [
        {"No.": number, "Day": f"{day}.5.2026", "Crew": f"C{crew}"}
        for day, crew, number in keys
    ]
    for turn in range(2):
        shuffled = data.draw(st.permutations(rows))
        receipt = last(load(store, write_daily(folder / str(turn), shuffled)))
        assert receipt.loaded == (0 if turn else len(keys))
    assert held(store) == sorted(
        f"2026-05-{day:02}/C{crew}/{number}" for day, crew, number in keys
    )


def test_numbers_of_other_days_are_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    plain = '"No."'
    load(store, write_daily(tmp_path / "a", [{}, {"No.": 2}], plain))
    rows: list[Row] = [{"Day": "5.5.2026"}, {"Day": "5.5.2026", "No.": 2}, {"No.": 3}]
    [remark] = last(load(store, write_daily(tmp_path / "b", rows, plain))).remarks[-1:]
    assert remark.startswith(
        "2 of 3 record numbers are those of other days' or crews' anchors too"
    )
    assert f"record_id = {DAY_AND_CREW}" in remark


def test_a_crew_that_no_column_names_is_not_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    for name, row in (("a", {}), ("b", {"Day": "5.5.2026"})):
        path = write_daily(tmp_path / name, [row], '"No."')
        site_map_path = path.with_suffix(".toml")
        text = site_map_path.read_text("utf-8")
        one_crew = text.replace('crew_code = "Crew"', 'crew_code = {always = "C1"}')
        site_map_path.write_text(one_crew, "utf-8")
        receipt = last(load(store, path))
    assert 'record_id = {from = "No.", within = ["Day"]}' in receipt.remarks[-1]


# A correction without a revision of its own is a conflict, but no number used twice.
def test_other_content_of_one_day_and_crew_is_not_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    plain = '"No."'
    load(store, write_daily(tmp_path / "a", [{"Time": "07:10"}], plain))
    receipt = last(load(store, write_daily(tmp_path / "b", [{}], plain)))
    assert receipt.rejected == 1  # It has a gap more.
    assert not any("record numbers" in remark for remark in receipt.remarks)


def test_the_same_bytes_under_other_numbers_are_taken_back_first(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    rows: list[Row] = [{}, {"No.": 2}]
    first = last(load(store, write_daily(tmp_path / "a", rows, '"No."')))
    again = write_daily(tmp_path / "b", rows)
    [failure] = load(store, again).failures
    assert failure.startswith(
        f"daily.csv: is held as receipt {first.source_file_id} with other record "
        "numbers (1, now 2026-05-04/C3/1); take that back first"
    )
    assert failure.endswith(f"firmset unload {first.source_file_id}")
    assert held(store) == ["1", "2"]
    unload(store, first.source_file_id, now=NOW)
    assert last(load(store, again)).loaded == 2
    assert held(store) == ["2026-05-04/C3/1", "2026-05-04/C3/2"]


def site_map(folder: Path, record_id: str) -> SiteMap:
    return read_site_map(write_daily(folder, [], record_id).with_suffix(".toml"))


def test_a_map_says_what_numbers_count_within(tmp_path: Path) -> None:
    assert site_map(tmp_path / "a", DAY_AND_CREW).counts_within == ("Day", "Crew")
    assert site_map(tmp_path / "b", '"No."').counts_within == ()
    one = '{from = "No.", within = "Day"}'
    assert site_map(tmp_path / "c", one).counts_within == ("Day",)
