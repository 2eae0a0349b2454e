"""Workbooks with a sheet a day: each sheet that the site map takes is a log of its own.

Expected by hand, from the sheets that each test writes.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import pytest
import xlsxwriter

from etl import file_parts
from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from etl.unload import unload
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, build_store, load, write_csv
from tests.etl.correcting import given_back, open_rejects, sent_again

MAP = """
[site]
code = "WEEKLY"
name = "Invented site with a sheet a day"
time_zone = "Europe/Madrid"
[files]
match = "week*"
sheet = {sheet}
[columns]
record_id = {{from = "No", within = ["Day"]}}
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
"""
HEADER = ["No", "Day", "Crew", "Code"]
MONDAY = [[1, "2026-05-04", "C1", "M12-68"], [2, "2026-05-04", "C1", "M12-68"]]
TUESDAY = [[1, "2026-05-05", "C2", "M12-68"]]
WEEK = {"Mon": [HEADER, *MONDAY], "Tue": [HEADER, *TUESDAY]}
Sheets = Mapping[str, list[list[object]]]


def write_week(
    folder: Path, sheets: Sheets = WEEK, sheet: str = '"*"', name: str = "week19.xlsx"
) -> Path:
    """Write a workbook and the site map that takes `sheet` of it.

    The same sheets make the same bytes, whenever they are written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "week.toml").write_text(MAP.format(sheet=sheet), "utf-8")
    path = folder / name
    with xlsxwriter.Workbook(path) as book:
        book.set_properties({"created": datetime(2026, 5, 9, tzinfo=UTC)})
        for title, rows in sheets.items():
            page = book.add_worksheet(title)
            for number, row in enumerate(rows):
                page.write_row(number, 0, row)
    return path


def held(store: Store) -> list[tuple[str, str, int]]:
    """Return the records with the file and the row that each came from."""
    with store.reader() as con:
        return con.execute(
            """
            select record_id, file_name, source_row
            from installation inner join source_file using (source_file_id)
            order by record_id
            """
        ).fetchall()


MON = [
    ("2026-05-04/1", "week19.xlsx [Mon]", 2),
    ("2026-05-04/2", "week19.xlsx [Mon]", 3),
]
TUE = [("2026-05-05/1", "week19.xlsx [Tue]", 2)]


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        ('"*"', MON + TUE),
        ('["Wed", "M*"]', MON),
        ('"?ue"', TUE),
        ('["Tue"]', [("2026-05-05/1", "week19.xlsx", 2)]),
    ],
)
def test_each_sheet_that_is_meant_is_a_log(
    tmp_path: Path, sheet: str, expected: list[tuple[str, str, int]]
) -> None:
    store = build_store(tmp_path)
    assert not load(store, write_week(tmp_path / "a", sheet=sheet)).failures
    assert held(store) == expected


def test_the_same_workbook_again_is_known_sheet_by_sheet(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_week(tmp_path / "a")
    first = [receipt.source_file_id for receipt in load(store, path).receipts]
    again = load(store, path)
    assert [receipt.source_file_id for receipt in again.receipts] == first
    assert [receipt.duplicate for receipt in again.receipts] == [2, 1]
    assert again.edition_id is None
    unload(store, first[1], now=NOW)
    assert held(store) == MON
    assert [receipt.loaded for receipt in load(store, path).receipts] == [0, 1]
    assert held(store) == MON + TUE


def test_a_sheet_that_is_no_log_fails_by_name_and_the_others_are_loaded(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    path = write_week(tmp_path / "a", {"Cover": [["Invented works"]], **WEEK})
    result = load(store, path)
    [failure] = result.failures
    assert failure.startswith(f"{path} [Cover]: row 1: the site map week.toml takes")
    assert failure.count("'Day'") == 1  # Though two columns are read from it.
    assert held(store) == MON + TUE


def test_a_pattern_that_means_no_sheet_names_them(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_week(tmp_path / "a", sheet='["May*", "June"]')
    [failure] = load(store, path).failures
    assert failure == f"{path}: has no sheet 'May*' or 'June'; it has Mon, Tue"


def test_too_many_sheets_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(file_parts, "MAX_SHEETS", 1)
    store = build_store(tmp_path)
    path = write_week(tmp_path / "a")
    [failure] = load(store, path).failures
    assert "2 of its sheets are meant by week.toml, expected at most 1" in failure


def test_a_rejected_row_of_a_sheet_is_corrected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    blank = [2, "2026-05-05", "", "M12-68"]
    path = write_week(tmp_path / "a", WEEK | {"Tue": [HEADER, *TUESDAY, blank]})
    load(store, path)
    assert open_rejects(store) == [("week19.xlsx [Tue]", 3)]
    [row] = given_back(store, capsys)
    result = sent_again(store, tmp_path / "mend.csv", [row | {"Crew": "C2"}])
    assert not result.failures
    assert open_rejects(store) == []
    assert held(store)[-1] == ("2026-05-05/2", "mend.csv", 2)


# One sheet alone is read again: the rows of the other were not.
def test_a_sheet_read_again_settles_no_row_of_another(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    sheets = {
        "Mon": [HEADER, *MONDAY, [3, "2026-05-04", "", "M12-68"]],
        "Tue": [HEADER, *TUESDAY, [3, "2026-05-05", "", "M12-68"]],
    }
    path = write_week(tmp_path / "a", sheets)
    load(store, path)
    write_week(tmp_path / "a", sheets, '"Mon"')
    assert not load(store, path).failures
    assert open_rejects(store) == [("week19.xlsx [Tue]", 3), ("week19.xlsx", 4)]
    write_week(tmp_path / "a", sheets, '["Mon", "Tue"]')
    assert not load(store, path).failures
    assert open_rejects(store) == [("week19.xlsx [Mon]", 4), ("week19.xlsx [Tue]", 3)]


def test_other_kinds_of_files_have_no_sheets(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    folder = write_week(tmp_path / "a").parent
    rows = [dict(zip(HEADER, row, strict=True)) for row in TUESDAY]
    assert not load(store, write_csv(folder / "week19.csv", rows)).failures
    assert held(store) == [("2026-05-05/1", "week19.csv", 2)]


# Both maps take the sheets of days; the second wants a column that no sheet has.
def test_headers_choose_among_maps_of_several_sheets(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    sheets = {"Cover": [["Invented works"]], **WEEK}
    path = write_week(tmp_path / "a", sheets, '["Mon", "Tue"]')
    later = (path.parent / "week.toml").read_text("utf-8")
    (path.parent / "later.toml").write_text(
        later.replace("[columns]", 'valid_from = 2026-06-01\n[columns]\nnote = "Note"'),
        "utf-8",
    )
    result = load(store, path)
    assert not result.failures
    assert (
        "site map week.toml: the file has its columns"
        in (result.receipts[0].remarks[0])
    )
    assert held(store) == MON + TUE


def test_a_draft_takes_all_sheets_of_one_kind(tmp_path: Path) -> None:
    def sheet_line(sheets: Sheets) -> str:
        text = toml_of(draft_of(write_week(tmp_path, sheets)))
        [line] = [line for line in text.splitlines() if "sheet = " in line]
        return line

    many = {f"Day {day}": [HEADER, *TUESDAY] for day in range(12)}
    likely = 'sheet = "*"  # likely: the '
    assert sheet_line(WEEK).startswith(f"{likely}2 sheets there are have")
    assert sheet_line(many).startswith(f"{likely}8 sheets looked at have")
    some = sheet_line({"Cover": [["Invented"]], **WEEK})
    assert some == (
        'sheet = ["Mon", "Tue"]  # likely: Mon, Tue have the same columns, each a log; '
        "other sheets: Cover"
    )
    weeks = {f"Wk {week}": [HEADER, *TUESDAY] for week in range(40, 52)}
    assert sheet_line({"Summary": [["Week", "Anchors"]], **weeks}).startswith(
        'sheet = "Wk *"  # likely: Wk 40, Wk 41, '
    )
    # A pattern that would take another sheet is none.
    drills = {"Wk drills": [["Drill", "Hours"]], "Wk 1": [HEADER], "Wk 2": [HEADER]}
    assert sheet_line(drills).startswith('sheet = ["Wk 1", "Wk 2"]  # ')


# Columns of a log, in a sheet that nobody has named to the site map.
WEEKS = {
    "Wk 45": [HEADER, *MONDAY],
    "Summary": [["Week", "Anchors"], ["Wk 45", 2]],
    "Wk 46": [HEADER, *TUESDAY],
    "Wk 47": [HEADER],
}


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        ('"Wk 45"', ["'Wk 46', 'Wk 47', which the site map does not name and which"]),
        ('["Wk 45", "Wk 46"]', ["'Wk 47', which the site map does not name and which"]),
        ('"Wk *"', []),
    ],
)
def test_sheets_that_a_map_does_not_name_are_asked_about_once(
    tmp_path: Path, sheet: str, expected: list[str]
) -> None:
    path = write_week(tmp_path / "a", WEEKS, sheet)
    receipts = load(build_store(tmp_path), path).receipts
    asked = [one for receipt in receipts for one in receipt.remarks if "Wk" in one]
    assert len(asked) == len(expected)
    for question, words in zip(asked, expected, strict=True):
        assert question.startswith(f"not read was sheet {words} ha")
        assert '(sheet = "Wk *" in the site map; not_sheets = ["Wk 4' in question


@pytest.mark.parametrize(
    ("sheet", "read"),
    [
        ('"Wk 45"\nnot_sheets = ["Wk 46", "Wk 47"]', ["week19.xlsx"]),
        # One that is named in full is meant whatever else is said.
        ('"Wk 45"\nnot_sheets = "*"', ["week19.xlsx"]),
        (
            '"Wk *"\nnot_sheets = ["Wk 47"]',
            ["week19.xlsx [Wk 45]", "week19.xlsx [Wk 46]"],
        ),
    ],
)
def test_sheets_that_are_no_logs_are_neither_read_nor_asked_about(
    tmp_path: Path, sheet: str, read: list[str]
) -> None:
    result = load(build_store(tmp_path), write_week(tmp_path / "a", WEEKS, sheet))
    assert not result.failures
    assert [receipt.file_name for receipt in result.receipts] == read
    assert [receipt.remarks for receipt in result.receipts] == [[]] * len(read)


def test_sheets_that_are_no_logs_need_those_that_are(tmp_path: Path) -> None:
    path = write_week(tmp_path / "a", WEEKS, '"Wk 45"').with_name("week.toml")
    text = path.read_text("utf-8").replace('sheet = "Wk 45"', 'not_sheets = ["Wk 46"]')
    path.write_text(text, "utf-8")
    fault = r"line 8: \[files\] not_sheets = \['Wk 46'\] without sheet: expected both"
    with pytest.raises(FirmsetError, match=fault):
        read_site_map(path)


def test_of_many_sheets_those_at_the_ends_are_looked_at(tmp_path: Path) -> None:
    days = {f"Day {day:02}": [HEADER] for day in range(1, 15)}
    path = write_week(tmp_path / "a", {"Main": [HEADER, *TUESDAY], **days}, '"Main"')
    [receipt] = load(build_store(tmp_path), path).receipts
    [asked] = receipt.remarks
    named = "'Day 01', 'Day 02', 'Day 03', 'Day 04', 'Day 11' and 3 more"
    assert asked.startswith(f"not read was sheet {named}, which")


def test_a_sheet_held_with_other_numbers_is_taken_back_first(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_week(tmp_path / "a")
    load(store, path)
    write_week(tmp_path / "a", sheet='"Mon"')
    map_path = path.with_name("week.toml")
    plain = map_path.read_text("utf-8").replace('within = ["Day"]', "fill_down = false")
    map_path.write_text(plain, "utf-8")
    [failure] = load(store, path).failures
    assert "with other record numbers (2026-05-04/1, now 1)" in failure
    assert held(store) == MON + TUE
