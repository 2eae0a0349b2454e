"""What a file says in several cells, or not at all: the site map puts it together.

Expected by hand, from the manual's sentences on `always` and on several headers.
"""

from collections.abc import Sequence
from pathlib import Path

import pytest

from etl.intake import IntakeResult
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv
from tests.etl.correcting import given_back, open_rejects, sent_again

MAP = """
[site]
code = "PARTS"
name = "Invented site of one crew"
time_zone = "Europe/Madrid"
[files]
match = "parts.csv"
[columns]
record_id = "No"
installed_on = "Day"
crew_code = {always = "crew 1"}
setting_code = {from = ["Type", "Size", "Depth"]}
drill_method = {always = "hollow_bit"}
work_area = {always = "dock's end"}
note = {from = ["Remark", "More"]}
[codes.setting_code]
"bolt M12 68" = "M12-68"
"""
ROW: Row = {
    "No": 1,
    "Day": "2026-05-04",
    "Type": "Bolt",
    "Size": "m12",
    "Depth": "68",
    "Remark": "",
    "More": "",
}


def write_parts(folder: Path, rows: Sequence[Row]) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "parts.toml").write_text(MAP, "utf-8")
    numbered = [ROW | {"No": place} | row for place, row in enumerate(rows, start=1)]
    return write_csv(folder / "parts.csv", numbered)


def load_parts(folder: Path, rows: Sequence[Row]) -> tuple[Store, IntakeResult]:
    store = build_store(folder)
    result = load(store, write_parts(folder / "parts", rows))
    assert not result.failures, result.failures
    return store, result


def test_what_holds_for_every_row_is_said_once(tmp_path: Path) -> None:
    store, _ = load_parts(tmp_path, [{}, {}])
    with store.reader() as con:
        found = con.execute(
            "select distinct crew_code, drill_method, work_area from installation"
        )
        assert found.fetchall() == [("CREW 1", "hollow_bit", "dock's end")]


# A code that holds for a whole file is one with those that cells say (test_codes.py).
def test_a_code_of_the_map_is_joined_with_other_spellings(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"crew_code": "CREW-001"}])
    [receipt] = load(store, write_parts(tmp_path / "parts", [{}])).receipts
    assert receipt.remarks[0] == "crew_code CREW 1 read as CREW-001"
    with store.reader() as con:
        found = con.execute("select distinct crew_code from installation")
        assert found.fetchall() == [("CREW-001",)]


def test_several_cells_make_one_word(tmp_path: Path) -> None:
    rows: list[Row] = [
        {"Remark": " wet ", "More": "redrilled"},
        {"More": "only this"},
        {},
    ]
    store, _ = load_parts(tmp_path, rows)
    with store.reader() as con:
        found = con.execute(
            "select setting_code, note from installation order by source_row"
        ).fetchall()
    assert found == [
        ("M12-68", "wet redrilled"),
        ("M12-68", "only this"),
        ("M12-68", None),
    ]


def test_reasons_name_all_headers(tmp_path: Path) -> None:
    rows: list[Row] = [{"Depth": ""}, {"Type": "", "Size": " ", "Depth": ""}]
    store, _ = load_parts(tmp_path, rows)
    with store.reader() as con:
        found = con.execute(
            "select reason from rejected_row order by source_row"
        ).fetchall()
    words = "Type + Size + Depth: {}, expected a "
    assert found[0][0].startswith(words.format("'Bolt m12'") + "code of the setting")
    assert found[1][0].startswith(words.format("blank") + "setting code")


def test_a_spreadsheets_error_among_them_is_a_fault(tmp_path: Path) -> None:
    store, _ = load_parts(tmp_path, [{"Remark": "#REF!"}, {}])
    with store.reader() as con:
        faults = con.execute("select column_name, raw_value from field_fault")
        assert faults.fetchall() == [("note", "#REF!")]


def test_a_row_of_such_a_file_is_corrected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store, _ = load_parts(tmp_path, [{}, {"Size": "M21"}])
    assert open_rejects(store) == [("parts.csv", 3)]
    [row] = given_back(store, capsys)
    result = sent_again(store, tmp_path / "mend.csv", [row | {"Size": "M12"}])
    assert [receipt.loaded for receipt in result.receipts] == [1]
    assert open_rejects(store) == []
    with store.reader() as con:
        found = con.execute("select distinct crew_code, setting_code from installation")
        assert found.fetchall() == [("CREW 1", "M12-68")]


def test_a_column_of_several_must_be_there_whole(tmp_path: Path) -> None:
    path = write_parts(tmp_path / "parts", [{}])
    path.write_text(path.read_text("utf-8").replace("Size", "Dia"), "utf-8")
    [failure] = load(build_store(tmp_path), path).failures
    assert "takes setting_code from 'Size', but the file has the columns" in failure


@pytest.mark.parametrize(
    ("brushed", "blown", "cleaned"),
    [
        ("Y", "ja", True),
        ("y", " Nein ", False),
        # One no is no, whatever the other says.
        ("", "n", False),
        ("perhaps", "n", False),
        # Nobody says the rest, or says it so that it can be read.
        ("Y", "", None),
        ("Y", "-", None),
        ("", "", None),
        ("Y", "perhaps", "Y perhaps"),
        ("perhaps", "", "perhaps"),
    ],
)
def test_a_hole_is_clean_where_all_answers_are_yes(
    tmp_path: Path, brushed: str, blown: str, cleaned: bool | str | None
) -> None:
    path = write_parts(tmp_path / "parts", [{"Brushed": brushed, "Blown": blown}])
    site_map = path.with_suffix(".toml")
    text = site_map.read_text("utf-8").replace(
        "[codes", 'cleaned = {from = ["Brushed", "Blown"]}\n[codes'
    )
    site_map.write_text(f"{text}[codes.cleaned]\nja = true\nnein = false\n", "utf-8")
    store = build_store(tmp_path)
    assert not load(store, path).failures
    with store.reader() as con:
        [(held,)] = con.execute("select cleaned from installation").fetchall()
        faults = con.execute("select raw_value from field_fault").fetchall()
    unread = cleaned if isinstance(cleaned, str) else None
    assert held is (None if unread else cleaned)
    assert faults == ([(unread,)] if unread else [])
