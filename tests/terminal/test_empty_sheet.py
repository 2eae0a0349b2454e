"""`firmset sheet`: an empty log or sheet of master data, and what goes into it."""

import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest

from dashboard.command import main
from etl.draft.draft import draft_of
from etl.draft.sample import Layout, read_rows
from etl.draft.write import toml_of
from etl.sheets.declaration import Sheet
from etl.sheets.registry import SHEETS
from queries.columns import COLUMN_BY_NAME
from tests.builders import build_store, load
from tests.etl.test_said_once import write_form

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
NAMES = [sheet.name for sheet in SHEETS]


def written(folder: Path, name: str) -> Path:
    path = folder / f"{name}.xlsx"
    assert main(["sheet", name, "--out", str(path)]) == 0
    return path


@pytest.mark.parametrize("sheet", SHEETS, ids=NAMES)
def test_a_workbook_says_what_each_column_is(tmp_path: Path, sheet: Sheet) -> None:
    path = written(tmp_path, sheet.name)
    names = [column.name for column in sheet.file_columns()]
    assert read_rows(path, Layout(sheet=sheet.name)) == [names]
    heads, *rows = read_rows(path, Layout(sheet="Columns"))
    assert heads == ["Column", "Needed", "What it is", "Written as"]
    assert [row[0] for row in rows] == names
    assert all(len(row) == 4 and all(row) for row in rows)
    blank = [row[0] for row in rows if row[1] == "may be blank"]
    assert blank == [one.name for one in sheet.file_columns() if one.may_be_blank]


# Without rows it is a sheet all the same: nothing is lost by sending it too early.
@pytest.mark.parametrize("name", NAMES)
def test_an_empty_workbook_loads(tmp_path: Path, name: str) -> None:
    result = load(build_store(tmp_path / "a"), written(tmp_path, name))
    assert not result.failures
    assert [receipt.rows_read for receipt in result.receipts] == [0]


# ECMA-376 part 1, 18.8.30: number format 49 is text. 1/2 would be a date without it.
def test_codes_and_sizes_stay_as_they_are_typed(tmp_path: Path) -> None:
    with zipfile.ZipFile(written(tmp_path, "setting_data")) as book:
        styles = book.read("xl/styles.xml").decode()
        page = book.read("xl/worksheets/sheet1.xml").decode()
    [formats] = ElementTree.fromstring(styles).iter(f"{MAIN}cellXfs")
    kinds = [look.attrib["numFmtId"] for look in formats]
    looks = {
        place: kinds[int(column.get("style", 0))]
        for column in ElementTree.fromstring(page).iter(f"{MAIN}col")
        for place in range(int(column.attrib["min"]), int(column.attrib["max"]) + 1)
    }
    names = next(sheet for sheet in SHEETS if sheet.name == "setting_data").empty()
    at = {name: place for place, name in enumerate(names.strip().split(","), start=1)}
    assert looks[at["anchor_size"]] == looks[at["setting_code"]] == "49"
    assert looks[at["hole_depth_mm"]] == "0"
    assert "<dataValidation" in page


# firmset's own names are known, whatever the cells below them hold.
def test_an_empty_log_has_all_columns_and_is_drafted_unaided(tmp_path: Path) -> None:
    path = written(tmp_path, "log")
    [names] = read_rows(path, Layout(sheet="log"))
    assert {*names} | {"installed_at"} == {*COLUMN_BY_NAME}
    _, *rows = read_rows(path, Layout(sheet="Columns"))
    assert [row[0] for row in rows] == names
    assert all(len(row) == 4 and all(row) for row in rows)
    needed = [row[0] for row in rows if row[1] == "in each row"]
    assert {*needed} == {"record_id", "installed_on", "crew_code", "setting_code"}
    given = {
        "record_id": "007",
        "installed_on": "2026-05-14",
        "crew_code": "K1",
        "setting_code": "M12-68",
        "hole_depth_mm": "92",
    }
    filled = [names, [given.get(name, "") for name in names]]
    draft = draft_of(write_form(tmp_path, filled, "filled.csv"))
    assert {one.column.name: one.header for one in draft.active} == {
        name: name for name in names
    }
    assert not draft.unplaced
    draft.path.with_suffix(".toml").write_text(toml_of(draft), "utf-8")
    store = build_store(tmp_path / "a")
    [receipt] = load(store, draft.path).receipts
    assert (receipt.loaded, receipt.field_faults, receipt.remarks) == (1, 0, [])
    with store.reader() as con:
        assert con.execute(
            "select record_id, installed_on::varchar, hole_depth_mm from installation"
        ).fetchall() == [("007", "2026-05-14", 92.0)]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["bits", "--out", "foo.xlsx"], "expected bits.csv or bits.xlsx"),
        (["bits", "--out", "bits.pdf"], "expected bits.csv or bits.xlsx"),
        (["bits", "--out", "there.d/bits.csv"], "cannot be written"),
        (["walls"], "expected one of log, setting_data"),
        (["--out", "bits.csv"], "expected the NAME of a sheet"),
    ],
)
def test_what_cannot_be_written_is_said(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    expected: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["sheet", *words]) == 2
    assert expected in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_there_is_not_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bits_2026.csv"
    assert main(["sheet", "bits", "--out", str(path)]) == 0
    path.write_text("mine", "utf-8")
    assert main(["sheet", "bits", "--out", str(path)]) == 2
    assert "is there already, and is not replaced" in capsys.readouterr().err
    assert path.read_text("utf-8") == "mine"
