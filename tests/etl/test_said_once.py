"""What a log says once for all its rows: above the column names, or in a name.

Expected by hand, from the files that each test writes.
"""

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest
import xlsxwriter

from etl.intake import load_paths
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load
from tests.etl.correcting import given_back, open_rejects, sent_again

MAP = """
[site]
code = "ONCE"
name = "Invented site with forms"
time_zone = "Europe/Madrid"
[files]
match = "{match}"
{files}
[dates]
format = "%d.%m.%Y"
[columns]
record_id = {{from = "No", within = ["Day"]}}
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
inspector_code = "Inspector"
"""
Rows = Sequence[Sequence[object]]
NAMES = ["No", "Code"]
FORM: Rows = [
    ["Daily sheet"],
    ["Day:", "", "04.05.2026", "Inspector: I1"],
    ["Crew", "Site office"],
    ["C7"],
    NAMES,
    [1, "M12-68"],
    [2, "M12-68"],
]
TITLES = 'header_row = 5\ntitles = ["Day", "Crew", "Inspector"]'
HELD = [("2026-05-04/1", "C7", "I1"), ("2026-05-04/2", "C7", "I1")]


def write_map(
    folder: Path, files: str = TITLES, match: str = "*", name: str = "once.toml"
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_text(MAP.format(files=files, match=match), "utf-8")
    return path


def write_form(folder: Path, rows: Rows = FORM, name: str = "form.csv") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    with path.open("w", encoding="utf-8", newline="") as target:
        csv.writer(target).writerows(rows)
    return path


def write_book(
    folder: Path, sheets: Mapping[str, Rows], name: str = "book.xlsx"
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    with xlsxwriter.Workbook(path) as book:
        for title, rows in sheets.items():
            page = book.add_worksheet(title)
            for number, row in enumerate(rows):
                page.write_row(number, 0, row)
    return path


def held(store: Store) -> list[tuple[str, str, str]]:
    with store.reader() as con:
        return con.execute(
            "select record_id, crew_code, inspector_code from installation order by all"
        ).fetchall()


# "Site office" stands right of Crew and is not named in the map, but in the list.
def test_titles_are_columns_of_every_row(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    files = TITLES.replace('"Crew", ', '"Crew", "Site office", ')
    write_map(tmp_path / "a", files)
    result = load(store, write_form(tmp_path / "a"))
    assert not result.failures
    assert held(store) == HELD
    [remark] = result.receipts[0].remarks
    assert remark == (
        "said once for all rows: Day = '04.05.2026', Crew = 'C7', "
        "Site office = '', Inspector = 'I1'"
    )


def test_titles_of_a_sheet_are_read_as_its_cells_are(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a", 'header_row = 3\ntitles = ["Day", "Crew", "Inspector"]')
    rows = [["Day", 46146, "Crew:", "C7"], ["Inspector:", "I1"], *FORM[4:]]
    result = load(store, write_book(tmp_path / "a", {"Form": rows}))
    assert not result.failures
    assert held(store) == HELD  # 46146 is 2026-05-04 in the 1900 system.


@pytest.mark.parametrize(
    ("name", "match", "crew"),
    [
        ("C7_week19.csv", "{Crew}_*.csv", "C7"),
        ("week 19 - C7.csv", "week * - {Crew}.csv", "C7"),
        ("C 7.csv", "{Crew}.csv", "C 7"),
    ],
)
def test_a_part_of_the_files_name_is_a_column(
    tmp_path: Path, name: str, match: str, crew: str
) -> None:
    store = build_store(tmp_path)
    files = 'header_row = 5\ntitles = ["Day", "Inspector"]'
    write_map(tmp_path / "a", files, match)
    assert not load(store, write_form(tmp_path / "a", name=name)).failures
    assert {found for _, found, _ in held(store)} == {crew}


def test_a_sheets_name_is_a_column(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    files = 'sheet = ["{Day}", "Crew {Crew} {Day}"]'
    write_map(tmp_path / "a", files)
    rows = [["No", "Code", "Inspector", "Crew"], [1, "M12-68", "I1", "C7"]]
    sheets = {
        "04.05.2026": rows,
        "Crew C8 05.05.2026": [row[:3] for row in rows],
        "Notes": [["Invented"]],
    }
    result = load(store, write_book(tmp_path / "a", sheets))
    assert [failure.count("takes crew_code") for failure in result.failures] == [1]
    assert "[Notes]: row 1: the site map once.toml takes" in result.failures[0]


def test_of_a_sheet_the_first_pattern_that_fits_counts(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a", 'sheet = ["{Crew} on {Day}", "{Crew} {Day}"]')
    rows = [["No", "Code", "Inspector"], [1, "M12-68", "I1"]]
    sheets = {"C7 on 04.05.2026": rows, "C8 05.05.2026": rows, "Notes": rows}
    assert not load(store, write_book(tmp_path / "a", sheets)).failures
    assert held(store) == [("2026-05-04/1", "C7", "I1"), ("2026-05-05/1", "C8", "I1")]


def test_a_title_that_is_not_there_fails_the_file(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a")
    path = write_form(tmp_path / "a", [["Day:", "04.05.2026"], [], [], [], *FORM[4:]])
    [failure] = load(store, path).failures
    assert failure == (
        f"{path}: the site map once.toml expects the title 'Crew', 'Inspector' above "
        "row 5, where 'Day:', '04.05.2026' stands, or between the rows below"
    )
    path.write_text('{"No": 1, "Code": "M12-68"}\n', "utf-8")
    path = path.rename(path.with_suffix(".jsonl"))
    [failure] = load(store, path).failures
    assert "expects the title 'Day', 'Crew', 'Inspector' above row 5, where" in failure
    assert "nothing stands" in failure


def test_a_name_that_does_not_fit_is_an_error(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_form(tmp_path / "a", name="log.csv")
    only = write_map(tmp_path / "maps", "", "{Crew}_*.csv")
    assert load_paths(store, [path], only_map=only).failures == (
        f"{path}: expected a name as '{{Crew}}_*.csv', from which once.toml takes Crew",
    )


def test_rows_under_a_blank_title_come_back_with_it_and_are_corrected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    rows = [*FORM[:3], [""], *FORM[4:]]
    files = TITLES.replace('"Crew", ', '"Crew", "Site office", ')
    write_map(tmp_path / "a", files)
    path = write_form(tmp_path / "a", rows)
    assert [receipt.rejected for receipt in load(store, path).receipts] == [2]
    first, second = given_back(store, capsys)
    assert (first["Day"], first["Inspector"], first["Crew"]) == ("04.05.2026", "I1", "")
    assert first["firmset reason"] == "Crew: blank, expected a crew's code"
    mended = [first | {"Crew": "C7"}, second | {"Crew": "C7"}]
    assert not sent_again(store, tmp_path / "mend.csv", mended).failures
    assert open_rejects(store) == []
    assert held(store) == HELD


# A title of a column's name is its repeat, as a repeated header is.
def test_a_title_beside_a_column_of_its_name(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    site_map = write_map(tmp_path / "a")
    text = site_map.read_text("utf-8").replace('crew_code = "Crew"', 'note = "Crew"')
    site_map.write_text(f'{text}crew_code = "Crew (2)"\n', "utf-8")
    form = [["Day", "04.05.2026"], ["Inspector", "I1"], ["Crew", "C7"], []]
    rows = [*form, [*NAMES, "Crew"], [1, "M12-68", "late"], [*NAMES, "Crew"]]
    result = load(store, write_form(tmp_path / "a", rows))
    assert [receipt.loaded for receipt in result.receipts] == [1]
    # The header repeated below is none of an anchor's rows.
    assert [receipt.rejected for receipt in result.receipts] == [1]
    assert held(store) == HELD[:1]


def test_titles_choose_among_maps(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a")
    later = TITLES.replace('"Crew"', '"Gang"') + "\nvalid_from = 2026-06-01"
    text = write_map(tmp_path / "a", later, name="later.toml")
    text.write_text(text.read_text("utf-8").replace('= "Crew"', '= "Gang"'), "utf-8")
    [receipt] = load(store, write_form(tmp_path / "a")).receipts
    assert receipt.loaded == 2
    assert receipt.remarks[0].endswith(
        "later.toml expects 'Gang', which the file lacks"
    )
    # Those between the rows are looked at too.
    between = [[*NAMES], ["Crew C7"], ["Day: 04.05.2026"], ["Inspector: I1"], *FORM[5:]]
    for path in (tmp_path / "a").glob("*.toml"):
        path.write_text(path.read_text("utf-8").replace("header_row = 5", ""), "utf-8")
    [receipt] = load(store, write_form(tmp_path / "a", between)).receipts
    assert receipt.remarks[0].startswith("site map once.toml: the file has its columns")


BLOCKS: Rows = [
    ["No", "Code", "Hole depth", "Remark"],
    ["Crew C7"],
    ["Day:", "04.05.2026", "Inspector:", "I1"],
    [1, "M12-68", 92],
    ["Day 05.05.2026"],
    ["No", "Code", "Hole depth", "Remark"],
    [1, "M12-68", 92],
    ["Crew:"],
    [2, "M12-68", 92],
    ["Inspector", "", "I2", "Crew: C8"],
    [3, "M12-68", 92],
]


def test_a_title_between_the_rows_holds_from_there_on(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a", 'titles = ["Day", "Crew", "Inspector"]')
    [receipt] = load(store, write_form(tmp_path / "a", BLOCKS)).receipts
    assert held(store) == [
        ("2026-05-04/1", "C7", "I1"),
        ("2026-05-05/1", "C7", "I1"),
        ("2026-05-05/3", "C8", "I2"),
    ]
    # Without a crew is only the row below "Crew:"; titles and names are settled.
    assert open_rejects(store) == [("form.csv", 9)]
    assert (receipt.rows_read, receipt.rejected, receipt.settled) == (10, 7, 6)
    assert receipt.remarks[0] == "5 rows are titles of those below"


ALL_ONCE = """
[columns]
record_id = {from = "No", within = ["Day"]}
installed_on = "Day"
crew_code = {always = "C7"}
setting_code = "Code"
hole_depth_mm = "Hole depth"
note = "Remark"
"""


# A correction has the day and the codes in its own cells, as what was given back has.
def test_a_signature_that_comes_back_is_no_anchor(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    site_map = write_map(tmp_path / "a", 'header_row = 2\ntitles = ["Day", "Code"]')
    text = site_map.read_text("utf-8").partition("[columns]")[0]
    site_map.write_text(f"{text}{ALL_ONCE}", "utf-8")
    titles = ["Day", "04.05.2026", "Code", "M12-68"]
    rows = [titles, ["No", "Hole depth", "Remark"], [1, "~9", ""], ["Signed", "by", ""]]
    load(store, write_form(tmp_path / "a", rows))
    first, signed = given_back(store, capsys)
    mended = [first | {"Hole depth": "92"}, signed]
    [receipt] = sent_again(store, tmp_path / "mend.csv", mended).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 1)
    assert open_rejects(store) == [("mend.csv", 3)]


# Every row has a day, a crew and a setting code here, a signature too.
def test_where_all_is_said_once_a_row_needs_a_value_of_its_own(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    site_map = write_map(tmp_path / "a", 'header_row = 2\ntitles = ["Day", "Code"]')
    text = site_map.read_text("utf-8").partition("[columns]")[0]
    site_map.write_text(f"{text}{ALL_ONCE}", "utf-8")
    rows = [
        ["Day", "04.05.2026", "Code", "M12-68"],
        names := ["No", "Hole depth", "Remark"],
        [1, 92, ""],
        [2, "", ""],
        [3, "~92", ""],
        [4, "", "forgotten"],
        names,
        ["Total", 2, ""],
        ["Signed:", "seen:", "X"],
    ]
    load(store, write_form(tmp_path / "a", rows))
    with store.reader() as con:
        found = con.execute(
            "select record_id from installation union all "
            "select source_row || ' ' || reason_code || coalesce(' settled' "
            "|| left(cleared_by::varchar, 0), '') from rejected_row"
        ).fetchall()
    assert [text for (text,) in found] == [
        "2026-05-04/1",
        "4 only_number settled",
        "5 no_value",
        "6 no_value",
        "7 repeated_header settled",
        "8 footer_total settled",
        "9 no_value",
    ]


@pytest.mark.parametrize(
    ("files", "match", "fault"),
    [
        ("header_row = 3\ntitles = [1]", "*", "[files] titles = [1]: expected a list"),
        ("", "{Crew}{Day}.csv", "where }{Day} is parted is not known"),
        ("", "{Crew}*.csv", "where {Crew}* is parted is not known"),
        ('sheet = "*{Day}"', "*", "sheet = '*{Day}': where *{Day} is parted"),
        ('sheet = "{Day}"', "{Day}.xlsx", "[files] names 'Day' twice in match"),
        ('header_row = 2\ntitles = ["Day", "Day:"]', "*", "[files] names 'Day' twice"),
    ],
)
def test_faults_of_what_is_said_once(
    tmp_path: Path, files: str, match: str, fault: str
) -> None:
    with pytest.raises(FirmsetError) as raised:
        read_site_map(write_map(tmp_path, files, match))
    assert fault in str(raised.value)
