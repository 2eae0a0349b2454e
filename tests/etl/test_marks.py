"""Marks beside a figure, `58 i.O.`: the site's own verdict is not read, the figure is.

Expected by hand, from the manual's sentences on `marks`.
"""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.header import find_headers
from etl.draft.looks import looks_of
from etl.draft.remarks import unfigured_said
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from tests.builders import Row, build_store, load, write_csv
from tests.etl.test_pieces import faults, load_pieces, values, write_pieces

TORQUE = (
    'setting_torque_nm = {from = "Torque", marks = ["i.O.", "n.i.O.", "OK", "✓", "!"]}'
)
NEEDED = {"No.": "7", "Date": "2026-05-04", "Crew": "K1"}


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("58 i.O.", 58),
        ("58i.O.", 58),
        ("44 n.i.O.", 44),
        ("ok 57,5", 57.5),
        ("57,5 Nm OK", 57.5),
        ("✓ 60", 60),
        ("60✓", 60),
        ("60*", 60),
        ("i.O. 61 ✓", 61),
        ("ok so 61", 61),
        ("60 (✓)", 60),
        ("62", 62),
        # 44 ft·lbf: 44 x 1.3558179483 (NIST SP 811).
        ("44 ft·lbf OK", 59.6559897),
    ],
)
def test_a_figure_is_read_without_them(
    tmp_path: Path, cell: str, expected: float
) -> None:
    columns = TORQUE.replace('"!"', '"ok so", "(✓)", "*"')
    header = '[files]\nmatch = "pieces.csv"\ndecimal = ","\n'
    folder = tmp_path / "log"
    path = write_pieces(folder, [{"Torque": cell}], columns)
    map_path = folder / "pieces.toml"
    text = map_path.read_text("utf-8")
    map_path.write_text(text.replace('[files]\nmatch = "pieces.csv"\n', header))
    store = build_store(tmp_path)
    assert not load(store, path).failures
    assert faults(store) == []
    assert values(store, "setting_torque_nm") == [(pytest.approx(expected),)]


def test_what_is_no_mark_beside_a_figure_stays_unreadable(tmp_path: Path) -> None:
    cells = ["58 NOK", "ca. 58 OK", "i.O.", "58 OK OK", "", "58 OKAY"]
    rows: list[Row] = [{"Torque": cell} for cell in cells]
    store, _ = load_pieces(tmp_path, rows, TORQUE.replace(', "!"', ""))
    assert values(store, "setting_torque_nm") == [(None,)] * 6
    # A blank cell is no answer, not one that could not be read.
    assert [fault[1] for fault in faults(store)] == [
        cell for cell in cells if cell != ""
    ]


def test_what_a_figure_lacks_is_told_of_the_figure(tmp_path: Path) -> None:
    columns = 'brush_count = {from = "Brushed", marks = ["OK"]}'
    rows: list[Row] = [{"Brushed": "2.5 OK"}, {"Brushed": "2.5"}]
    store, _ = load_pieces(tmp_path, rows, columns)
    [marked, bare] = faults(store)
    assert marked == ("brush_count", "2.5 OK", bare[2])


def test_one_of_several_figures_may_have_a_mark(tmp_path: Path) -> None:
    columns = """
edge_1_mm = {from = "Edges", split = "/", piece = "1 of 2", marks = ["✓"]}
edge_2_mm = {from = "Edges", split = "/", piece = "2 of 2", marks = ["✓"]}
"""
    store, _ = load_pieces(tmp_path, [{"Edges": "120 ✓/ 95 ✓"}], columns)
    assert values(store, "edge_1_mm", "edge_2_mm") == [(120.0, 95.0)]


@pytest.mark.parametrize(
    "marks",
    [
        *('"OK"', "[]", "[7]", '[""]', '["5"]', '["mm"]', '["ca."]', '["min"]'),
        *('[">"]', '["+"]', '["-"]', '["."]', '["OK", "≥"]', str(["x"] * 21)),
    ],
)
def test_what_cannot_be_a_mark_is_refused(tmp_path: Path, marks: str) -> None:
    columns = f'setting_torque_nm = {{from = "Torque", marks = {marks}}}'
    write_pieces(tmp_path, [], columns)
    with pytest.raises(
        FirmsetError, match=r"line 13: \[columns\] setting_torque_nm ma"
    ):
        read_site_map(tmp_path / "pieces.toml")


def test_only_figures_have_marks(tmp_path: Path) -> None:
    write_pieces(tmp_path, [], 'work_area = {from = "Area", marks = ["OK"]}')
    with pytest.raises(FirmsetError, match="work_area has no key 'marks'"):
        read_site_map(tmp_path / "pieces.toml")


def drafted(folder: Path, header: str, cells: list[str]) -> Path:
    rows = [NEEDED | {"No.": str(at), header: cell} for at, cell in enumerate(cells)]
    return write_csv(folder / "log.csv", rows)


@pytest.mark.parametrize(
    ("header", "cells", "marks"),
    [
        ("Drehmoment (Nm)", ["58 i.O.", "44 n.i.O.", "60 i.O."], ("i.O.", "n.i.O.")),
        ("Bohrtiefe mm", ["90✓", "91 ✓", "93"], ("✓",)),
        ("Torque", ["45Nm PASS", "45 Nm - pass", "30Nm FAIL"], ("PASS", "- pass")),
        ("Profondeur de perçage (mm)", ["OK 90", "OK 92", "NC 60"], ("OK", "NC")),
    ],
)
def test_a_draft_names_the_marks_that_it_finds(
    tmp_path: Path, header: str, cells: list[str], marks: tuple[str, ...]
) -> None:
    path = drafted(tmp_path, header, cells)
    draft = draft_of(path)
    [one] = [one for one in draft.active if one.marks]
    assert set(marks) <= set(one.marks)
    assert one.said.sureness == "likely"
    assert "marks beside its figures are not read" in one.said.reason
    text = toml_of(draft).replace('# setting_code = "?"', 'setting_code = "Crew"')
    (tmp_path / "log.toml").write_text(text + '\n[codes.setting_code]\nK1 = "M12-68"\n')
    store = build_store(tmp_path / "built")
    result = load(store, path)
    assert not result.failures, result.failures
    assert faults(store) == []
    with store.reader() as con:
        [(read,)] = con.execute(
            f"select count({one.column.name}) from installation"
        ).fetchall()
    assert read == len(cells)


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        # Where an anchor is, and what kind it is, are no figures.
        ("Bereich", ["2. OG", "3. OG", "1. UG"]),
        ("Drilling rig", ["7 red", "8 blue", "9 red"]),
        # Words that change the figure, and too few figures to tell.
        ("Bohrtiefe mm", ["ca. 90", "ca. 91", "ca. 93"]),
        ("Edge distance mm", [">= 100", ">100", "100+"]),
        ("Torque Nm", ["50 OK", "OK", "n.a. yet", "see sheet"]),
        # A unit that nobody knows is no verdict.
        ("Torque", ["45 kp", "46 kp", "44 kp"]),
    ],
)
def test_a_draft_takes_no_other_words_for_marks(
    tmp_path: Path, header: str, cells: list[str]
) -> None:
    draft = draft_of(drafted(tmp_path, header, cells))
    assert all(not one.marks for one in draft.placed)
    assert "marks" not in toml_of(draft)


def test_a_draft_says_why_a_figure_has_no_column(tmp_path: Path) -> None:
    path = drafted(tmp_path, "Randabstand", [">= 120", "150", ">= 120", "ca. 90"])
    [said] = draft_of(path).remarks
    assert said == (
        "'Randabstand' is named as a figure (edge_1_mm), but 75 % of its cells are "
        "none, as '>= 120': these could not be read"
    )
    for cells in (["ja", "nein", "ja"], ["90/93", "90/91"]):
        told = draft_of(drafted(tmp_path, "Randabstand", cells)).remarks
        assert not [one for one in told if "is named as a figure" in one]


def test_words_for_nothing_near_are_figures_too() -> None:
    [header, *_] = find_headers([["Nr", "Randabstand"], ["1", "frei"], ["2", "150"]])
    looks = [looks_of(header.rows, place, ".") for place in range(2)]
    assert unfigured_said(header, looks, (), ()) == ()
