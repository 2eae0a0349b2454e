"""Answers with a column each, of which one is ticked: its name is what is read.

Expected by hand, from the manual's sentences on `ticked`.
"""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from tests.builders import Row, build_store, load
from tests.etl.correcting import given_back, open_rejects, sent_again
from tests.etl.test_pieces import faults, load_pieces, values, write_pieces
from tests.etl.test_said_once import write_book, write_form

CLEANED = """
cleaned = {ticked = ["Clean yes", "Clean no"]}
orientation = {ticked = ["Floor", "Wall's face"]}
[codes.cleaned]
"clean YES" = true
"Clean no" = false
[codes.orientation]
"Wall's face" = "wall"
"""


def ticks(yes: str, no: str, floor: str = "", wall: str = "") -> Row:
    return {"Clean yes": yes, "Clean no": no, "Floor": floor, "Wall's face": wall}


def test_the_name_of_what_is_ticked_is_read(tmp_path: Path) -> None:
    rows = [
        ticks("x", "", "✓"),
        ticks("", "X", "", "1"),
        ticks("", ""),
        ticks("-", "☒"),
    ]
    store, _ = load_pieces(tmp_path, rows, CLEANED)
    assert values(store, "cleaned", "orientation") == [
        (True, "floor"),
        (False, "wall"),
        (None, None),
        (False, None),
    ]
    assert faults(store) == []


@pytest.mark.parametrize(
    "empty", ["☐", " □ ", "¨", "no", "Nein", "NÃO", "FALSE", "0", "n/a"]
)
def test_what_says_that_it_is_not_the_one(tmp_path: Path, empty: str) -> None:
    store, _ = load_pieces(tmp_path, [ticks("yes", empty)], CLEANED)
    assert values(store, "cleaned") == [(True,)]


def test_two_that_are_ticked_say_nothing(tmp_path: Path) -> None:
    store, _ = load_pieces(tmp_path, [ticks("x", "x", "x", "x")], CLEANED)
    assert values(store, "cleaned", "orientation") == [(None, None)]
    assert [fault[:2] for fault in faults(store)] == [
        ("cleaned", "Clean yes + Clean no"),
        ("orientation", "Floor + Wall's face"),
    ]


def test_a_size_that_is_ticked_is_corrected_in_its_columns(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "log"
    rows: list[Row] = [{"M10": "x", "M12": "x"}, {"M10": "", "M12": "x"}]
    path = write_pieces(folder, rows, '[codes.setting_code]\n"M12" = "M12-68"')
    site_map = folder / "pieces.toml"
    ticked = 'setting_code = {ticked = ["M10", "M12"]}'
    text = site_map.read_text("utf-8").replace('setting_code = "Anchor"', ticked)
    site_map.write_text(text, "utf-8")
    store = build_store(tmp_path)
    assert not load(store, path).failures
    assert values(store, "record_id", "setting_code") == [("2", "M12-68")]
    [row] = given_back(store, capsys)
    assert (row["M10"], row["M12"]) == ("x", "x")
    assert "M10 + M12" in row["firmset reason"]
    assert not sent_again(store, folder / "mend.csv", [row | {"M10": ""}]).failures
    assert open_rejects(store) == []
    assert values(store, "setting_code") == [("M12-68",), ("M12-68",)]


def test_each_anchor_of_a_row_has_its_own(tmp_path: Path) -> None:
    columns = """
cleaned = {ticked = ["{anchor} yes", "{anchor} no"]}
[codes.cleaned]
"{anchor} yes" = true
"{anchor} no" = false
"""
    folder = tmp_path / "log"
    row: Row = {"1 yes": "x", "1 no": "", "2 yes": "", "2 no": "x"}
    path = write_pieces(folder, [row], columns)
    site_map = folder / "pieces.toml"
    text = site_map.read_text("utf-8").replace(
        'record_id = "No"', 'record_id = {from = "anchor", within = ["No"]}'
    )
    text = text.replace("[columns]", 'anchors = ["1", "2"]\n[columns]')
    site_map.write_text(text, "utf-8")
    store = build_store(tmp_path)
    assert not load(store, path).failures
    with store.reader() as con:
        found = con.execute("select record_id, cleaned from installation order by all")
        assert found.fetchall() == [("1/1", True), ("1/2", False)]


@pytest.mark.parametrize(
    "spec",
    [
        '"Yes"',
        '["Yes"]',
        '["Yes", "Yes"]',
        '["Yes", 7]',
        '["Yes", ""]',
        '["Yes", "No"], from = "Clean"',
    ],
)
def test_what_cannot_be_ticked_is_refused(tmp_path: Path, spec: str) -> None:
    write_pieces(tmp_path, [], f"cleaned = {{ticked = {spec}}}")
    with pytest.raises(FirmsetError, match=r"line 13: \[columns\] cleaned ticked = "):
        read_site_map(tmp_path / "pieces.toml")


# A crew, a note or a figure in millimetres could be read of two names as well.
@pytest.mark.parametrize("column", ["inspector_code", "note", "hole_depth_mm"])
def test_only_answers_are_ticked(tmp_path: Path, column: str) -> None:
    write_pieces(tmp_path, [], f'{column} = {{ticked = ["A", "B"]}}')
    with pytest.raises(FirmsetError, match=f"{column} has no key 'ticked'"):
        read_site_map(tmp_path / "pieces.toml")


HEADER = ["No.", "Date", "Crew", "Hole depth (mm)"]
ROWS = [[number, "2026-05-04", "K1", 92] for number in range(1, 5)]


def drafted(path: Path) -> dict[str, Any]:
    return tomllib.loads(toml_of(draft_of(path)))


def test_a_draft_takes_the_answers_of_a_question(tmp_path: Path) -> None:
    names = ["M10", "M12", "Boden", "Wand", "Gereinigt: ja", "Gereinigt: nein"]
    marks = ["-xx-x-", "x--xx-", "-xx--x", "-x-xx-"]
    cells = [[("" if mark == "-" else mark) for mark in row] for row in marks]
    log = [[*HEADER, *names], *([*r, *c] for r, c in zip(ROWS, cells, strict=True))]
    path = write_form(tmp_path, log, "log.csv")
    found = drafted(path)
    assert found["columns"]["orientation"] == {"ticked": ["Boden", "Wand"]}
    assert found["columns"]["cleaned"] == {
        "ticked": ["Gereinigt: ja", "Gereinigt: nein"]
    }
    assert found["codes"]["orientation"] == {"Boden": "floor", "Wand": "wall"}
    assert found["codes"]["cleaned"] == {
        "Gereinigt: ja": True,
        "Gereinigt: nein": False,
    }
    # Which setting data each size is, nobody but the site knows.
    assert '# setting_code = {ticked = ["M10", "M12"]}' in toml_of(draft_of(path))
    assert draft_of(path).unplaced == ()


def test_a_draft_takes_the_answers_below_a_question(tmp_path: Path) -> None:
    above = [*HEADER, "Hole cleaned", "", "Note"]
    below = ["", "", "", "", "Yes", "No", ""]
    cells = [["✓", "", ""], ["✓", "", "wet"], ["", "✓", ""], ["✓", "", ""]]
    log = [above, below, *([*r, *c] for r, c in zip(ROWS, cells, strict=True))]
    found = drafted(write_book(tmp_path, {"Log": log}))
    assert found["files"]["header_row"] == [1, 2]
    names = ["Hole cleaned Yes", "Hole cleaned No"]
    assert found["columns"]["cleaned"] == {"ticked": names}
    assert found["codes"]["cleaned"] == dict(zip(names, (True, False), strict=True))


@pytest.mark.parametrize(("yes", "no"), ["☑☐", "ü¨", ("TRUE", "FALSE"), ("x", "-")])
def test_a_draft_tells_empty_boxes_from_ticked_ones(
    tmp_path: Path, yes: str, no: str
) -> None:
    boxes = ([yes, no], [no, yes], [no, no], [yes, no])
    log = [
        [*HEADER, "Floor", "Wall"],
        *([*r, *b] for r, b in zip(ROWS, boxes, strict=True)),
    ]
    found = drafted(write_form(tmp_path, log, "log.csv"))["columns"]
    assert found["orientation"] == {"ticked": ["Floor", "Wall"]}


def test_a_draft_tells_two_questions_apart(tmp_path: Path) -> None:
    names = ["Cleaned yes", "Cleaned no", "Rebar hit yes", "Rebar hit no"]
    log = [[*HEADER, *names], *([*row, "x", "", "", "x"] for row in ROWS)]
    found = drafted(write_form(tmp_path, log, "log.csv"))["columns"]
    assert found["cleaned"] == {"ticked": names[:2]}
    assert found["rebar_hit"] == {"ticked": names[2:]}


@pytest.mark.parametrize(
    ("names", "cells"),
    [
        # More than one of them, figures, words of several questions, and of none.
        (["Wall", "Floor"], ["xx", "xx", "x-", "-x"]),
        (["Wall", "Floor"], ["2-", "-3", "2-", "2-"]),
        (["Wall", "M12"], ["x-", "-x", "x-", "x-"]),
        (["Red", "Blue"], ["x-", "-x", "x-", "x-"]),
        (["Wall", "wall"], ["x-", "-x", "x-", "x-"]),
        (["Wall", "Floor"], ["--", "--", "--", "--"]),
    ],
)
def test_what_are_no_answers_of_a_question(
    tmp_path: Path, names: list[str], cells: list[str]
) -> None:
    marks = [[("" if mark == "-" else mark) for mark in row] for row in cells]
    log = [[*HEADER, *names], *([*r, *m] for r, m in zip(ROWS, marks, strict=True))]
    assert not draft_of(write_form(tmp_path, log, "log.csv")).header.ticked
