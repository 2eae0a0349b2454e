"""Logs that lie on their side, and those that only look so."""

from pathlib import Path

import pytest
import xlsxwriter

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.intake import load_paths
from etl.staging import limits
from queries.errors import FirmsetError
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import NOW, build_store, load
from tests.etl.correcting import given_back, sent_again

ASIDE = [
    ["Check sheet", "", "", "", ""],
    ["Anchor No.", "1", "2", "3", "4"],
    ["Date", "2026-05-04", "2026-05-04", "2026-05-05", "2026-05-05"],
    ["Hole depth (mm)", "92", "93", "92", "95"],
    ["Hole cleaned (Y/N)", "Yes", "Yes", "No", "Yes"],
    ["Torque (Nm)", "55", "54", "55", "56"],
]


# The anchors stand in columns 2 to 5; with the lines numbered, in 3 to 6.
def test_a_log_on_its_side_is_told(tmp_path: Path) -> None:
    lines = [[str(place), *row] for place, row in enumerate(ASIDE)]
    for names_in, rows in ((1, ASIDE), (2, lines)):
        path = tmp_path / "log.csv"
        path.write_text("\n".join(map(",".join, rows)), "utf-8")
        draft = draft_of(path)
        assert draft.header.sideways is not None
        assert draft.header.row.value == names_in
        assert len(draft.header.rows) == 4
        assert {one.column.name for one in draft.active} == {
            *("record_id", "installed_on", "hole_depth_mm", "cleaned"),
            "setting_torque_nm",
        }


# A sheet an anchor, as of those that are tested: one value beside each name.
FORM = [row[:2] for row in ASIDE] + [["Crew:", "K1"], ["Signature", ""]]


@pytest.mark.parametrize("lines", [FORM, FORM[1:], [["", *row] for row in FORM]])
def test_a_form_for_one_anchor_is_told(tmp_path: Path, lines: list[list[str]]) -> None:
    path = tmp_path / "form.csv"
    path.write_text("\n".join(map(",".join, lines)), "utf-8")
    draft = draft_of(path)
    assert draft.header.sideways is not None
    assert len(draft.header.rows) == 1
    assert {one.column.name: one.header for one in draft.active} == {
        "record_id": "Anchor No.",
        "installed_on": "Date",
        "crew_code": "Crew:",
        "hole_depth_mm": "Hole depth (mm)",
        "cleaned": "Hole cleaned (Y/N)",
        "setting_torque_nm": "Torque (Nm)",
    }


# Names of a table stand beside one another below; four names alone may be titles.
@pytest.mark.parametrize(
    "rows",
    [
        [*FORM[1:], ["Crew", "Hole depth (mm)", "Torque"], ["K1", "92", "55"]],
        FORM[1:5],
    ],
)
def test_titles_are_no_form(tmp_path: Path, rows: list[list[str]]) -> None:
    path = tmp_path / "form.csv"
    path.write_text("\n".join(map(",".join, rows)), "utf-8")
    assert draft_of(path).header.sideways is None


ALWAYS = (
    '[columns.crew_code]\nalways = "C1"\n[columns.setting_code]\nalways = "M12-68"\n'
)


def write_aside(path: Path, rows: list[list[str]] = ASIDE) -> Path:
    """Write a log on its side, as CSV or workbook, with the map that is drafted."""
    if path.suffix == ".csv":
        path.write_text("\n".join(map(",".join, rows)), "utf-8")
    else:
        with xlsxwriter.Workbook(path, {"strings_to_numbers": True}) as book:
            sheet = book.add_worksheet()
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
                for place, cell in enumerate(row):
                    if cell == "#N/A":
                        sheet.write_formula(number, place, "=NA()", value=cell)
    toml = toml_of(draft_of(path)) + ALWAYS
    path.with_suffix(".toml").write_text(toml, "utf-8")
    return path


def held(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select source_row, record_id, installed_on::varchar, hole_depth_mm, "
            "cleaned, setting_torque_nm from installation order by record_id"
        ).fetchall()


HELD = [
    (2, "1", "2026-05-04", 92.0, True, 55.0),
    (3, "2", "2026-05-04", 93.0, True, 54.0),
    (4, "3", "2026-05-05", 92.0, False, 55.0),
    (5, "4", "2026-05-05", 95.0, True, 56.0),
]


@pytest.mark.parametrize("name", ["log.csv", "log.xlsx"])
def test_an_anchor_of_it_is_a_row_with_its_columns_number(
    tmp_path: Path, name: str
) -> None:
    store = build_store(tmp_path)
    result = load(store, write_aside(tmp_path / name))
    assert [(one.rows_read, one.loaded) for one in result.receipts] == [(4, 4)]
    assert held(store) == HELD


def test_what_stands_again_in_a_workbooks_first_row_is_no_other(tmp_path: Path) -> None:
    path = write_aside(tmp_path / "log.xlsx", [ASIDE[2], ASIDE[1], *ASIDE[3:]])
    dated = [one for one in draft_of(path).active if one.column.name == "installed_on"]
    assert [one.looks.cells for one in dated] == [tuple(ASIDE[2][1:])]


def test_an_error_in_its_cells_is_no_blank(tmp_path: Path) -> None:
    """The third anchor's date is an error: expected a date, in its own column."""
    store = build_store(tmp_path)
    path = tmp_path / "log.xlsx"
    wrong = [row[:] for row in ASIDE]
    wrong[2][3] = "#N/A"
    [receipt] = load(store, write_aside(path, wrong)).receipts
    assert (receipt.loaded, receipt.rejected) == (3, 1)
    with store.reader() as con:
        [row] = read_rejects(con).select("source_row", "reason").rows()
    assert row == (4, "Date: '#N/A', expected a value")


def test_its_rejected_anchors_come_back_as_rows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    lost = [row[:] for row in ASIDE]
    lost[2][3] = ""
    load(store, write_aside(tmp_path / "log.csv", lost))
    assert held(store) == [HELD[0], HELD[1], HELD[3]]
    [row] = given_back(store, capsys)
    assert (row["firmset row"], row["Hole depth (mm)"]) == ("4", "92")
    mended = row | {"Date": "2026-05-05"}
    assert not sent_again(store, tmp_path / "mend.csv", [mended]).failures
    assert [one[1:] for one in held(store)] == [one[1:] for one in HELD]


# The crew and the day stand above, beside one another; that of column 8 is no anchor.
# The map is chosen by what the file has, the titles among it.
@pytest.mark.parametrize("name", ["log.csv", "log.xlsx"])
def test_titles_above_it_hold_for_its_anchors(tmp_path: Path, name: str) -> None:
    store = build_store(tmp_path)
    above = [
        ["Check sheet", "", "", "", "", "", "", "Page 1"],
        ["Day:", "2026-05-04", "Crew:", "C7"],
        [""],
    ]
    codes = ["Setting data", *["M12-68"] * 4]
    rows = [*above, ASIDE[1], codes, *ASIDE[3:]]
    path = write_aside(tmp_path / name, rows)
    site_map = path.with_suffix(".toml")
    said = site_map.read_text("utf-8").removesuffix(ALWAYS)
    assert 'titles = ["Day", "Crew"]' in said
    site_map.write_text(said, "utf-8")
    upright = said.replace("sideways = true", "valid_from = 2026-01-01")
    (tmp_path / "upright.toml").write_text(upright, "utf-8")
    [receipt] = load(store, path).receipts
    assert (receipt.loaded, receipt.rejected, receipt.settled) == (4, 1, 1)
    with store.reader() as con:
        found = con.execute(
            "select distinct crew_code, installed_on::varchar from installation"
        ).fetchall()
    assert found == [("C7", "2026-05-04")]


def test_of_two_maps_the_one_that_lies_as_the_file_does(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_aside(tmp_path / "log.csv")
    upright = path.with_suffix(".toml").read_text("utf-8")
    upright = upright.replace("sideways = true", "valid_from = 2026-01-01")
    (tmp_path / "upright.toml").write_text(upright, "utf-8")
    [receipt] = load(store, path).receipts
    assert receipt.loaded == 4
    assert "site map log.toml: the file has its columns" in receipt.remarks[0]


def test_a_file_that_names_its_columns_does_not_lie_on_its_side(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    write_aside(tmp_path / "log.csv")
    path = tmp_path / "log.jsonl"
    path.write_text('{"Anchor No.": "1"}\n', "utf-8")
    result = load_paths(store, [path], only_map=tmp_path / "log.toml", now=NOW)
    [failure] = result.failures
    assert failure == (
        f"{path}: names its columns itself and cannot lie on its side; expected "
        "[files] sideways = false in the site map log.toml (site map log.toml: chosen "
        "by hand)"
    )


@pytest.mark.parametrize("name", ["log.csv", "log.xlsx"])
def test_what_is_no_log_on_its_side(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path)
    path = write_aside(tmp_path / name)
    monkeypatch.setattr(limits, "MAX_COLUMNS", 5)
    [failure] = load(store, path).failures
    assert failure.startswith(f"{path}: has more than 5 rows, which a log on its side")
    said = path.with_suffix(".toml").read_text("utf-8")
    path.with_suffix(".toml").write_text(
        said.replace("sideways = true", "sideways = 1")
    )
    with pytest.raises(FirmsetError, match="sideways = 1: expected true or false"):
        load(store, path)


def test_a_form_with_titles_on_its_left_lies_as_it_should(tmp_path: Path) -> None:
    titles = [
        ["Crew", "C1", "", "", ""],
        ["Inspector", "Ann", "", "Wrench", "W1"],
        ["Drill method", "hammer", "", "", ""],
        ["Concrete", "C25/30", "", "", ""],
        ["Work area", "Bay 1", "", "", ""],
    ]
    table = [list(row) for row in zip(*ASIDE[1:], strict=True)]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, titles + table)), "utf-8")
    assert {one.column.name for one in draft_of(path).active} >= {
        *("record_id", "installed_on", "hole_depth_mm", "cleaned"),
    }


def test_words_for_columns_in_cells_are_values(tmp_path: Path) -> None:
    """As a log whose first column says what was wrong with the anchor."""
    found = ["Found", "Torque", "Hole depth", "Edge distance", "Spacing"]
    rows = zip(found, *ASIDE[1:], strict=True)
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, rows)), "utf-8")
    assert draft_of(path).header.row.value == 1


def test_values_that_look_like_words_for_one_column_are_values(tmp_path: Path) -> None:
    """As places on a grid do: "C8" may be short for the distance to the edge."""
    places = ["Level / Grid", "L2 / C1", "L2 / C3", "L2 / C4", "L2 / C8", "L2 / C9"]
    plain = [["No.", *(str(number) for number in range(1, 6))], places]
    anchors = ["Anchor", *["M12 x 110"] * 5]
    torque = ["Torque (Nm)", "55", "54", "55", "56", "57"]
    wrench = ["Wrench", *["W1"] * 5]
    rows = zip(*plain, anchors, torque, wrench, strict=True)
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, rows)), "utf-8")
    assert draft_of(path).header.row.value == 1
