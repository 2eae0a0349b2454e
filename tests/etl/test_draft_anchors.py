"""A draft of a log of which each row has several anchors."""

import json
from pathlib import Path

import pytest

from dashboard.terminal.drafting import questions
from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.intake import load_paths
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, write_setting_data
from tests.etl.test_anchors_beside import HEADER, ROWS, held, write_plates


def test_a_draft_finds_the_anchors_of_a_row(tmp_path: Path) -> None:
    names = ["Base plate" if name == "Plate" else name for name in HEADER]
    header = ["Setting code" if name == "Code" else name for name in names]
    draft = draft_of(write_plates(tmp_path / "a", ROWS[:3], header=header))
    assert (draft.header.anchors, draft.header.anchor_count) == (
        ("1", "2", "3"),
        "Count",
    )
    assert {one.column.name: one.header for one in draft.placed} == {
        "record_id": "anchor",
        "installed_on": "Day",
        "crew_code": "Crew",
        "setting_code": "Setting code",
        "hole_depth_mm": "Depth",
        "setting_torque_nm": "Torque {anchor}",
        "brush_count": "Brushed {anchor}",
    }
    assert draft.within is not None
    assert (draft.within.value, draft.unplaced) == (("Base plate",), ())
    asked = list(questions(draft))
    assert any(one.startswith("anchors: does a row hold 3?") for one in asked)


def test_a_draft_asks_within_what_an_anchor_is_counted(tmp_path: Path) -> None:
    names = ["Plate drawing" if name == "Plate" else name for name in HEADER]
    draft = draft_of(write_plates(tmp_path / "a", ROWS[:3], header=names))
    [asked] = [one for one in questions(draft) if one.startswith("record_id")]
    assert asked.startswith("record_id: is it 'anchor' within 'Plate drawing'?")


def test_a_draft_of_lists_of_objects_is_loaded(tmp_path: Path) -> None:
    """Of some records the list holds two, of others three."""
    path = tmp_path / "app.jsonl"
    lines = [
        {"record": n, "date": "2026-05-04", "crew": "K1", "setting code": "M12-68"}
        | {"holes": [{"no": k + 1, "torque_nm": 54 + k} for k in range(2 + n % 2)]}
        for n in range(6)
    ]
    path.write_text("\n".join(map(json.dumps, lines)), "utf-8")
    (tmp_path / "app.toml").write_text(toml_of(draft_of(path)), "utf-8")
    store = Store(tmp_path / "store")
    write_setting_data(tmp_path, [{"setting_code": "M12-68"}])
    assert not load_paths(store, [tmp_path], now=NOW).failures
    assert held(store) == [
        (f"{n}/{k + 1}", 54.0 + k) for n in range(6) for k in range(2 + n % 2)
    ]


@pytest.mark.parametrize(
    ("names", "anchors"),
    [
        (["Torque A", "Torque B", "Torque C"], ("A", "B", "C")),
        (["T1 [Nm]", "T2 [Nm]", "T3 [Nm]"], ("1", "2", "3")),
        (["Torque 01", "Torque 02", "Torque 03"], ("01", "02", "03")),
        (["Torque", "Torque", "Torque"], ("", " (2)", " (3)")),
        (["Depth 1", "Torque 1", "Depth 2", "Torque 2"], ("1", "2")),
        # Two torques may be one anchor's, set and found again; edges mostly are.
        (["Torque 1", "Torque 2"], ()),
        (["Edge 1", "Edge 2", "Edge 3", "Edge 4"], ()),
        (["Torque 1", "Torque 2", "Torque 4"], ()),
    ],
)
def test_which_names_are_of_several_anchors(
    tmp_path: Path, names: list[str], anchors: tuple[str, ...]
) -> None:
    path = tmp_path / "log.csv"
    rows = [["Plate", "Date", *names], ["P1", "2026-05-04", *["90"] * len(names)]]
    path.write_text("\n".join(map(",".join, rows)), "utf-8")
    assert draft_of(path).header.anchors == anchors


def test_a_time_that_stands_once_may_be_that_of_all(tmp_path: Path) -> None:
    header = ["Drill time (s)" if name == "Depth" else name for name in HEADER]
    draft = draft_of(write_plates(tmp_path / "a", ROWS[:3], header=header))
    [time] = [one for one in draft.placed if one.column.name == "drill_s"]
    assert (time.said.is_active, time.said.reason) == (
        False,
        "is it the time of one anchor, or of all in the row?",
    )


# A unit alone is a guess, and so is then whatever rests on it.
@pytest.mark.parametrize("number", ["Plate no", "Bolt no {}"])
def test_where_no_column_of_an_anchor_is_taken_the_anchors_are_asked(
    tmp_path: Path, number: str
) -> None:
    names = [number.format(1), "Date"]
    names += [f"T{place} [Nm]" for place in (1, 2, 3)]
    names += [number.format(place) for place in (2, 3) if "{" in number]
    cells = [name.replace("Date", "2026-05-04") for name in names]
    path = tmp_path / "log.csv"
    path.write_text("\n".join(map(",".join, [names, cells])), "utf-8")
    draft = draft_of(path)
    assert draft.header.anchors == ("1", "2", "3")
    text = toml_of(draft)
    assert '\n# anchors = ["1", "2", "3"]  # guess: ' in text
    (tmp_path / "log.toml").write_text(text, "utf-8")
    with pytest.raises(FirmsetError) as raised:
        read_site_map(tmp_path / "log.toml")
    # Nothing is wrong with it but what was not found.
    assert str(raised.value).count(": [") == len(draft.not_found) == 3
