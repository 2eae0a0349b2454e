"""Several anchors in a row of a log, as of a plate, each with columns of its own."""

import csv
import json
from pathlib import Path

import pytest

from etl.site_map import read_site_map
from etl.unload import unload
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, build_store, load
from tests.etl.correcting import given_back, open_rejects, sent_again

PLATES = """
[site]
code = "PLATES"
name = "Invented plates"
time_zone = "Europe/Lisbon"
[files]
match = "plates*"
anchors = ["1", "2", "3"]
[columns]
record_id = {from = "anchor", within = ["Plate"]}
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
hole_depth_mm = "Depth"
setting_torque_nm = "Torque {anchor}"
brush_count = "Brushed {anchor}"
"""
HEADER = [
    *("Plate", "Day", "Crew", "Code", "Count", "Depth"),
    *("Torque 1", "Brushed 1", "Torque 2", "Brushed 2", "Torque 3", "Brushed 3"),
]
ROWS = [
    ["P1", "2026-05-04", "K1", "M12-68", "3", "92", "55", "2", "54", "2", "70", "1"],
    ["P2", "2026-05-04", "K1", "M12-68", "2", "93", "55", "2", "56", "2", "-", ""],
    ["P3", "2026-05-05", "K1", "M12-68", "3", "93", "55", "2", "", "2", "", ""],
    ["P4", "2026-05-05", "K1", "M12-68", "1", "91", "", "", "", "", "", ""],
]
# Plate, anchor, torque: what the rows say, and the first of a plate of which none is
# said. P3 lacks its third anchor, unless the count says that there is one.
SAID = [
    *[("P1/1", 55.0), ("P1/2", 54.0), ("P1/3", 70.0)],
    *[("P2/1", 55.0), ("P2/2", 56.0)],
    *[("P3/1", 55.0), ("P3/2", None)],
    ("P4/1", None),
]
COUNTED = [*SAID[:7], ("P3/3", None), SAID[7]]


def write_plates(
    folder: Path,
    rows: list[list[str]] = ROWS,
    site_map: str = PLATES,
    header: list[str] = HEADER,
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plates.toml").write_text(site_map, "utf-8")
    path = folder / "plates.csv"
    with path.open("w", encoding="utf-8", newline="") as target:
        csv.writer(target).writerows([header, *rows])
    return path


def held(store: Store, column: str = "setting_torque_nm") -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            f"select record_id, {column} from installation order by record_id"
        ).fetchall()


def test_each_anchor_of_a_row_is_a_record(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    receipts = load(store, write_plates(tmp_path / "a")).receipts
    assert [
        (one.file_name, one.rows_read, one.loaded, one.rejected, one.settled)
        for one in receipts
    ] == [
        ("plates.csv [anchor 1]", 4, 4, 0, 0),
        ("plates.csv [anchor 2]", 4, 3, 1, 1),
        ("plates.csv [anchor 3]", 4, 1, 3, 3),
    ]
    assert held(store) == SAID
    # What a row says once holds for each of its anchors; what stands in an anchor's own
    # column does not.
    assert held(store, "hole_depth_mm")[:3] == [
        *[("P1/1", 92.0), ("P1/2", 92.0), ("P1/3", 92.0)]
    ]
    assert held(store, "brush_count")[:3] == [("P1/1", 2), ("P1/2", 2), ("P1/3", 1)]


def test_a_row_may_say_how_many_anchors_it_has(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    counted = PLATES.replace("[columns]", 'anchor_count = "Count"\n[columns]')
    assert not load(store, write_plates(tmp_path / "a", site_map=counted)).failures
    assert held(store) == COUNTED


def test_plates_again_are_duplicates_and_can_be_taken_back(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_plates(tmp_path / "a")
    load(store, path)
    assert [one.is_new for one in load(store, path).receipts] == [False] * 3
    unload(store, 3, now=NOW)
    assert held(store) == [one for one in SAID if not str(one[0]).endswith("/2")]
    assert [one.loaded for one in load(store, path).receipts] == [0, 3, 0]
    assert held(store) == SAID


def test_an_anchor_comes_back_for_correction_as_that_anchor(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    rows = [[*ROWS[0][:2], "", *ROWS[0][3:]], *ROWS[1:]]
    load(store, write_plates(tmp_path / "a", rows))
    sent = given_back(store, capsys)
    assert [(row["Plate"], row["anchor"], row["Torque 2"]) for row in sent] == [
        *[("P1", "1", "54"), ("P1", "2", "54"), ("P1", "3", "54")]
    ]
    mended = [row | {"Crew": "K1"} for row in sent[:2]]
    result = sent_again(store, tmp_path / "mend.csv", [*mended, sent[2]])
    assert [one.file_name for one in result.receipts] == [
        *("mend.csv [anchor 1]", "mend.csv [anchor 2]", "mend.csv [anchor 3]")
    ]
    assert [(one.loaded, one.rejected) for one in result.receipts] == [
        *[(1, 0), (1, 0), (0, 1)]
    ]
    assert held(store) == [*SAID[:2], *SAID[3:]]
    assert open_rejects(store) == [("mend.csv [anchor 3]", 4)]
    unknown = sent_again(store, tmp_path / "wrong.csv", [mended[0] | {"anchor": "9"}])
    [failure] = unknown.failures
    assert failure == (
        f"{tmp_path / 'wrong.csv'}: row 2: anchor = '9': expected one of 1, 2, 3, as "
        "firmset rejects wrote it"
    )


def test_a_file_is_not_counted_as_rows_and_as_anchors(tmp_path: Path) -> None:
    whole = PLATES.replace('anchors = ["1", "2", "3"]\n', "").replace("{anchor}", "1")
    whole = whole.replace('{from = "anchor", within = ["Plate"]}', '"Plate"')
    for first, then in ((PLATES, whole), (whole, PLATES)):
        folder = tmp_path / str(len(first))
        store = build_store(folder)
        load(store, write_plates(folder / "a", site_map=first))
        before = held(store)
        [failure, *_] = load(store, write_plates(folder / "a", site_map=then)).failures
        assert "with other record numbers" in failure
        assert held(store) == before


def test_an_anchor_more_than_the_map_has_fails_the_file(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    header = [*HEADER, "Torque 4"]
    path = write_plates(tmp_path / "a", [[*ROWS[0], "55"]], header=header)
    [failure] = load(store, path).failures
    assert failure == (
        f"{path} [anchor 1] and 2 more: row 1: has 'Torque 4' too, of an anchor more "
        "than [files] anchors of the site map plates.toml; expected it there"
    )
    assert held(store) == []


LINES = [
    {"id": 7, "at": "2026-05-04", "holes": [{"no": 1, "nm": 55}, {"no": 2, "nm": 54}]},
    {"id": 8, "at": "2026-05-04", "holes": [{"no": 1, "nm": 56}]},
]
LISTED = """
[site]
code = "APP"
name = "Invented forms"
time_zone = "Europe/Lisbon"
[files]
match = "plates.jsonl"
anchors = ["1", "2"]
[columns]
record_id = {from = "anchor", within = ["id"]}
installed_on = "at"
crew_code = {always = "K1"}
setting_code = {always = "M12-68"}
setting_torque_nm = "holes.{anchor}.nm"
"""


def test_the_objects_of_a_list_are_anchors(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    path = tmp_path / "plates.jsonl"
    (tmp_path / "app.toml").write_text(LISTED, "utf-8")
    three = LINES[1] | {"id": 9, "holes": [{"nm": 55}, {"nm": 56}, {"nm": 57}]}
    path.write_text("\n".join(map(json.dumps, [*LINES, three])), "utf-8")
    result = load(store, path)
    assert [(one.loaded, one.rejected, one.settled) for one in result.receipts] == [
        *[(2, 1, 0), (1, 2, 1)]
    ]
    assert held(store) == [("7/1", 55.0), ("7/2", 54.0), ("8/1", 56.0)]
    [reason] = {row["firmset reason"] for row in given_back(store, capsys)}
    assert reason == (
        "has 'holes.3.nm' too, of an anchor more than [files] anchors of the site map, "
        "expected it there"
    )
    wider = LISTED.replace('["1", "2"]', '["1", "2", "3"]')
    (tmp_path / "app.toml").write_text(wider, "utf-8")
    load(store, path)
    assert held(store)[3:] == [("9/1", 55.0), ("9/2", 56.0), ("9/3", 57.0)]
    assert open_rejects(store) == []


def test_a_list_with_something_else_in_it_is_read_by_its_objects(
    tmp_path: Path,
) -> None:
    """Of 61 objects no map has all, and none is left out in silence."""
    store = build_store(tmp_path)
    path = tmp_path / "plates.jsonl"
    (tmp_path / "app.toml").write_text(LISTED, "utf-8")
    odd = LINES[0] | {"holes": [{"nm": 55}, {}, None]}
    many = LINES[1] | {"holes": [{"nm": 55}] * 61}
    path.write_text("\n".join(map(json.dumps, [odd, many])), "utf-8")
    result = load(store, path)
    assert [(one.loaded, one.rejected, one.settled) for one in result.receipts] == [
        *[(1, 1, 0), (0, 2, 1)]
    ]
    assert held(store) == [("7/1", 55.0)]


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        (
            '["1", "2", "3"]',
            '["1"]',
            "anchors = ['1']: expected a list of what tells the anchors of a row apart",
        ),
        ('["1", "2", "3"]', '["1", "2", "(1)"]', "2 to 50 different texts"),
        (
            '{from = "anchor", within = ["Plate"]}',
            '"Plate"',
            'is that of all anchors of a row, expected {from = "anchor", within = ',
        ),
        (
            'anchors = ["1", "2", "3"]',
            "",
            'expected [files] anchors = ["1", "2"], what stands for {anchor}',
        ),
        ("{anchor}", "1", "no column is an anchor's own, expected {anchor}"),
        (
            'anchors = ["1", "2", "3"]',
            'anchor_count = "Count"',
            "anchor_count = 'Count' without anchors: expected both",
        ),
        (
            'match = "plates*"',
            'match = "plates*{anchor}x"',
            "twice in match, sheet and titles",
        ),
    ],
)
def test_faults_of_a_map_for_anchors(
    tmp_path: Path, old: str, new: str, fault: str
) -> None:
    path = tmp_path / "plates.toml"
    path.write_text(PLATES.replace(old, new), "utf-8")
    with pytest.raises(FirmsetError) as error:
        read_site_map(path)
    assert fault in str(error.value)
