"""Rejected rows given back, corrected by hand, and loaded again."""

from pathlib import Path

import pytest

from etl.unload import unload
from queries.errors import FirmsetError
from queries.readers.corrections import REVISION_HEADER
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import NOW, build_store, load, write_log, write_setting_data
from tests.etl.correcting import (
    Rows,
    build_rejects,
    given_back,
    open_rejects,
    sent_again,
)

MERGED_MAP = """
[site]
code = "MERGED"
name = "Invented merged cells"
time_zone = "Europe/Madrid"
[files]
match = "merged.csv"
[columns]
record_id = "no"
installed_on = "day"
crew_code = "crew"
setting_code = {from = "code", fill_down = true}
work_area = {from = "area", fill_down = true}
"""
CODES: Rows = [{"setting_code": "M12-68"}, {"setting_code": "M16-85"}]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_rejects(tmp_path)


def test_rows_come_back_as_they_were_written(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = given_back(store, capsys)
    assert [row["firmset row"] for row in rows] == ["3", "4"]
    assert rows[0]["record_id"] == "R2"
    assert rows[1]["installed_on"] == "31.02.2026"
    assert "expected a crew's code" in rows[0]["firmset reason"]
    # A text that a spreadsheet would run is disarmed, and armed again on loading.
    assert rows[0]["note"] == "'=1+1"


def test_corrected_rows_are_loaded_and_cleared(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = given_back(store, capsys)
    rows[0]["crew_code"] = "CREW-1"
    rows[1]["installed_on"] = "2026-05-06"
    [receipt] = sent_again(store, tmp_path / "mended.csv", rows).receipts
    assert (receipt.file_name, receipt.loaded, receipt.rejected) == ("mended.csv", 2, 0)
    assert open_rejects(store) == []
    with store.reader() as con:
        cleared = read_rejects(con, with_cleared=True)
        notes = con.execute(
            "select note, source_row from installation where record_id = 'R2'"
        ).fetchall()
    assert cleared["cleared_by"].to_list() == [receipt.source_file_id] * 2
    assert notes == [("=1+1", 2)]


# A spreadsheet keeps a merged cell's value in its first row only, and a row that is
# given back alone has none above it.
def test_rows_of_merged_cells_come_back_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = Store(tmp_path / "store")
    (tmp_path / "merged.toml").write_text(MERGED_MAP, "utf-8")
    lines = [
        "code,no,day,crew,area",
        "M12-68,R1,2026-05-04,C1,North",
        ",R2,2026-05-04,,",
        ",R1,2026-05-05,C1,",
        "M16-85,R3,2026-05-04,C1,South",
        ",R4,soon,C1,",
        "Total,,,,",
    ]
    merged = tmp_path / "merged.csv"
    merged.write_text("\n".join(lines) + "\n", "utf-8")
    load(store, write_setting_data(tmp_path, CODES), merged)
    rows = given_back(store, capsys)
    kept = [(row["no"], row["code"], row["area"]) for row in rows]
    assert kept == [
        ("R2", "M12-68", "North"),
        ("R1", "M12-68", "North"),
        ("R4", "M16-85", "South"),
    ]
    mended = [
        rows[0] | {"crew": "C1"},
        rows[1] | {REVISION_HEADER: "1"},
        rows[2] | {"day": "2026-05-06"},
    ]
    sent_again(store, tmp_path / "mended.csv", mended)
    assert open_rejects(store) == []
    with store.reader() as con:
        held = con.execute(
            "select record_id, revision, setting_code, work_area "
            "from installation order by all"
        ).fetchall()
    assert held == [
        ("R1", 1, "M12-68", "North"),
        ("R2", 0, "M12-68", "North"),
        ("R3", 0, "M16-85", "South"),
        ("R4", 0, "M16-85", "South"),
    ]


def test_a_list_sent_half_mended_and_then_mended_leaves_nothing_open(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Without a number nothing but its marks tells that a row is the same.
    store = build_store(
        tmp_path, [{}, {"record_id": ""}, {"record_id": "", "note": "n"}]
    )
    rows = given_back(store, capsys)
    rows[0]["record_id"] = "A"
    sent_again(store, tmp_path / "half.csv", rows)
    assert open_rejects(store) == [("half.csv", 3)]
    rows[1]["record_id"] = "B"
    [receipt] = sent_again(store, tmp_path / "whole.csv", rows).receipts
    assert (receipt.loaded, receipt.duplicate) == (1, 1)
    assert open_rejects(store) == []
    # Taken back, the row is open again, where it came last.
    unload(store, receipt.source_file_id, now=NOW)
    assert open_rejects(store) == [("half.csv", 3)]


def test_what_is_still_wrong_is_open_once_as_it_came_last(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = given_back(store, capsys)
    rows[0]["crew_code"] = "CREW-1"
    rows[1]["installed_on"] = "31.04.2026"
    [receipt] = sent_again(store, tmp_path / "mended.csv", rows).receipts
    assert open_rejects(store) == [("mended.csv", 3)]
    [row] = given_back(store, capsys)
    assert row["installed_on"] == "31.04.2026"
    # Taken back, the row is open as the site wrote it.
    unload(store, receipt.source_file_id, now=NOW)
    assert open_rejects(store) == [("SITE-1_log.csv", 3), ("SITE-1_log.csv", 4)]


# Without a record number, only the marks in front say which row is meant.
def test_a_row_without_a_number_is_mended_in_two_rounds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{}, {"record_id": "", "crew_code": ""}])
    [row] = given_back(store, capsys)
    sent_again(store, tmp_path / "one.csv", [row | {"crew_code": "CREW-1"}])
    [row] = given_back(store, capsys)
    sent_again(store, tmp_path / "two.csv", [row | {"record_id": "R2"}])
    assert open_rejects(store) == []


# A site that keeps one growing log sends its totals and its faults every week.
def test_a_faulty_row_that_a_site_sends_again_is_open_once(
    store: Store, tmp_path: Path
) -> None:
    grown = [
        {},
        {"crew_code": "", "note": "=1+1"},
        {"installed_on": "31.02.2026"},
        {"record_id": "R9"},
    ]
    load(store, write_log(tmp_path / "b", grown, name="weekly"))
    assert open_rejects(store) == [("SITE-1_weekly.csv", 3), ("SITE-1_weekly.csv", 4)]
    # The same words at another site are another row.
    load(store, write_log(tmp_path / "c", grown, site="SITE-2"))
    assert len(open_rejects(store)) == 4


# Twice rejected, then taken: the file between is no reason to ask for the row again.
def test_what_was_taken_stays_so_without_a_file_between(
    store: Store, tmp_path: Path
) -> None:
    faulty = {"record_id": "R2", "crew_code": "", "note": "=1+1"}
    again = write_log(tmp_path / "b", [faulty], name="again")
    [between] = load(store, again).receipts
    load(store, write_log(tmp_path / "c", [{"record_id": "R2"}], name="mended"))
    unload(store, between.source_file_id, now=NOW)
    assert open_rejects(store) == [("SITE-1_log.csv", 4)]


def test_another_row_of_the_same_number_stays_open(
    store: Store, tmp_path: Path
) -> None:
    other = {"record_id": "R3", "installed_on": "31.02.2026", "note": "another anchor"}
    load(store, write_log(tmp_path / "b", [other], name="weekly"))
    assert open_rejects(store) == [
        ("SITE-1_log.csv", 3),
        ("SITE-1_log.csv", 4),
        ("SITE-1_weekly.csv", 2),
    ]


def test_taking_the_corrections_back_opens_the_rows_again(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = given_back(store, capsys)
    rows[0]["crew_code"] = "CREW-1"
    [receipt] = sent_again(store, tmp_path / "mended.csv", rows).receipts
    unload(store, receipt.source_file_id, now=NOW)
    assert open_rejects(store) == [("SITE-1_log.csv", 3), ("SITE-1_log.csv", 4)]


# The site's own corrected file clears rows whose record number could be read.
def test_the_sites_own_corrected_file_clears_by_record(
    store: Store, tmp_path: Path
) -> None:
    load(store, write_log(tmp_path / "b", [{"record_id": "R2"}], name="weekly"))
    assert open_rejects(store) == [("SITE-1_log.csv", 4)]


# Where a site logs no revision, a conflict can be settled by the column in front.
def test_a_conflict_is_settled_by_a_higher_revision(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{"setting_torque_nm": "50"}])
    load(store, write_log(tmp_path / "b", [{"setting_torque_nm": "55"}], name="again"))
    [row] = given_back(store, capsys)
    row["firmset revision"] = "1"
    [receipt] = sent_again(store, tmp_path / "settled.csv", [row]).receipts
    assert (receipt.revised, receipt.rejected) == (1, 0)
    assert open_rejects(store) == []
    with store.reader() as con:
        held = con.execute("select revision, setting_torque_nm from installation")
        assert held.fetchall() == [(1, 55)]


def test_rows_of_several_sites_in_one_file(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    load(store, write_log(tmp_path / "two", [{"crew_code": ""}], site="TWO"))
    rows = given_back(store, capsys)
    for row in rows:
        row |= {"crew_code": "CREW-1", "installed_on": "2026-05-06"}
    receipts = sent_again(store, tmp_path / "all.csv", rows).receipts
    assert [(receipt.site_code, receipt.loaded) for receipt in receipts] == [
        ("SITE-1", 2),
        ("TWO", 1),
    ]
    assert open_rejects(store) == []


def test_a_receipt_that_is_not_of_this_store(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = given_back(store, capsys)
    result = sent_again(store, tmp_path / "x.csv", [rows[0] | {"firmset receipt": "9"}])
    [failure] = result.failures
    assert "x.csv: row 2: firmset receipt = '9': expected the number" in failure


def test_the_listing_of_an_unknown_receipt_is_empty(store: Store) -> None:
    with store.reader() as con:
        assert read_rejects(con, 99).is_empty()
    with pytest.raises(FirmsetError):
        unload(store, 99, now=NOW)


def test_what_lies_in_an_object_is_corrected_by_its_own_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And what the file's name tells of its lines comes back with each."""
    store = build_store(tmp_path)
    (tmp_path / "app.toml").write_text(
        """
        [site]
        code = "APP"
        name = "App"
        time_zone = "Europe/Lisbon"
        [files]
        match = "{Crew}_app.jsonl"
        [columns]
        record_id = "id"
        installed_on = "day"
        crew_code = "Crew"
        setting_code = "code"
        hole_depth_mm = "hole.depth"
        note = "holes"
        """,
        "utf-8",
    )
    line = (
        '{"id": 1, "day": "2026-05-04", "code": "WRONG", "hole": {"depth": 91.50}, '
        '"more": {"photo": 3}, "holes": [{"d": 1}], "parts": [{"no": 7}]}'
    )
    path = tmp_path / "C9_app.jsonl"
    path.write_text(f"{line}\n{line.replace('WRONG', 'M12-68')}\n", "utf-8")
    [receipt] = load(store, path).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 1)
    [row] = given_back(store, capsys)
    mended = {
        name: cell for name, cell in row.items() if not name.startswith("firmset")
    }
    assert mended == {
        "id": "1",
        "day": "2026-05-04",
        "code": "WRONG",
        "hole.depth": "91.50",
        "holes": '[{"d": 1}]',
        "holes.1.d": "1",
        "more.photo": "3",
        "parts.1.no": "7",
        "Crew": "C9",
    }
    sent = row | {"code": "M12-68", "hole.depth": "92", "id": "2"}
    assert not sent_again(store, tmp_path / "mend.csv", [sent]).failures
    assert open_rejects(store) == []
    with store.reader() as con:
        found = con.execute(
            "select record_id, crew_code, hole_depth_mm, note from installation "
            "where site_code = 'APP' order by record_id"
        ).fetchall()
    assert found == [("1", "C9", 91.5, '[{"d": 1}]'), ("2", "C9", 92.0, '[{"d": 1}]')]
