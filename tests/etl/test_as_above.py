"""Ditto marks: a cell that says "as above" is what the cell above it holds.

Expected by hand, or from the same rows written out.
"""

import json
import random
from pathlib import Path

import pytest

from etl.draft.as_above import is_mark
from etl.draft.draft import draft_of
from etl.draft.held import read_held
from etl.draft.write import toml_of
from etl.receipt import Receipt
from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load
from tests.etl.correcting import given_back, sent_again
from tests.etl.test_said_once import Rows, write_book, write_form

MAP = """
[site]
code = "QUAY"
name = "Invented quay"
time_zone = "Europe/Lisbon"
[files]
match = "*"
{files}
[columns]
record_id = "No"
installed_on = "Day"
crew_code = "Crew"
setting_code = "Code"
hole_depth_mm = "Depth"
setting_torque_nm = "Torque"
"""
AS_ABOVE = """as_above = ['"', "Do.", "As  above"]"""
HEADER = ["No", "Day", "Crew", "Code", "Depth", "Torque"]
ROWS: Rows = [
    HEADER,
    [1, "2026-05-04", "K1", "M12-68", 92, ""],
    [2, '"', "do.", ' " ', "DO.", '"'],
    ["Total", "", "", "", "", 110],
    [],
    HEADER,
    [3, '"', "K2", "As Above", 95, 55],
    [4, '"', '"', '"', '"', '"'],
]
# The torque of 2 is as blank as that above it; a total is no row of the table.
HELD = [
    ("1", "2026-05-04", "K1", 92.0, None),
    ("2", "2026-05-04", "K1", 92.0, None),
    ("3", "2026-05-04", "K2", 95.0, 55.0),
    ("4", "2026-05-04", "K2", 95.0, 55.0),
]


def write_map(folder: Path, files: str = AS_ABOVE) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "quay.toml").write_text(MAP.format(files=files), "utf-8")


def taken(store: Store, path: Path, files: str = AS_ABOVE) -> Receipt:
    """Load a file by the map; return its receipt."""
    write_map(path.parent, files)
    result = load(store, path)
    assert not result.failures
    return result.receipts[0]


def held(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select record_id, installed_on::varchar, crew_code, hole_depth_mm, "
            "setting_torque_nm from installation order by record_id::integer"
        ).fetchall()


def reasons(store: Store) -> list[str]:
    with store.reader() as con:
        return [
            reason
            for (reason,) in con.execute(
                "select reason from rejected_row order by source_row"
            ).fetchall()
        ]


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_mark_is_what_stands_above_it(tmp_path: Path, kind: str) -> None:
    store = build_store(tmp_path)
    folder = tmp_path / kind
    path = (
        write_form(folder, ROWS) if kind == "csv" else write_book(folder, {"Log": ROWS})
    )
    receipt = taken(store, path)
    assert held(store) == HELD
    assert (receipt.loaded, receipt.rejected, receipt.settled) == (4, 2, 2)
    assert receipt.remarks[0] == (
        "cells that say as above, read as the cell above them: 'Day' (3), 'Crew' (2), "
        "'Code' (3), 'Depth' (2), 'Torque' (2)"
    )


def written_by_hand(rng: random.Random) -> tuple[Rows, Rows]:
    """Return a log with marks, and the same rows written out."""
    pools = (["2026-05-04", "2026-05-05"], ["K1", "K2"], ["M12-68"], [92, 95, ""])
    full: list[list[object]] = []
    short: list[list[object]] = []
    for number in range(1, rng.randint(2, 30)):
        cells = [rng.choice(pool) for pool in pools]
        full.append([number, *cells, number])
        marked = [
            rng.choice(['"', "do."])
            if len(full) > 1 and cell == full[-2][place] and rng.random() < 0.7
            else cell
            for place, cell in enumerate(cells, start=1)
        ]
        short.append([number, *marked, number])
        while rng.random() < 0.2:
            between: Rows = ([], HEADER, ["Sum", "", "", "", 7, 9], ["Seen by X"])
            short.append([*rng.choice(between)])
    return [HEADER, *short], [HEADER, *full]


# By chance, against the rows written out; a file of other rows is another file.
@pytest.mark.parametrize("seed", range(8))
def test_marks_load_as_the_rows_written_out(tmp_path: Path, seed: int) -> None:
    short, full = written_by_hand(random.Random(seed))
    files = f'{AS_ABOVE}\nnot_rows = ["Seen by"]'
    one, other = build_store(tmp_path / "a"), build_store(tmp_path / "b")
    receipt = taken(one, write_form(tmp_path / "a" / "x", short), files)
    assert receipt.rejected == receipt.settled
    taken(other, write_form(tmp_path / "b" / "x", full), "")
    assert held(one) == held(other)
    assert len(held(one)) == len(full) - 1


def test_what_has_nothing_above_stays_as_it_is(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows = [HEADER, [1, "2026-05-04", '"', "M12-68", '"', 55]]
    receipt = taken(store, write_form(tmp_path / "x", rows))
    assert reasons(store) == ["Crew: '\"', expected a crew's code"]
    assert receipt.remarks == []


def test_a_row_given_back_has_what_its_marks_say(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    rows = [HEADER, ROWS[1], [2, '"', '"', "M99", '"', 55], [3, '"', '"', '"', 9, 9]]
    taken(store, write_form(tmp_path / "x", rows))
    back = given_back(store, capsys)
    assert [[row[name] for name in HEADER[1:5]] for row in back] == [
        ["2026-05-04", "K1", "M99", "92"],
        ["2026-05-04", "K1", "M99", "9"],
    ]
    # A row that is sent back stands alone: nothing is above it.
    right = [row | {"Code": "M12-68"} for row in back]
    sent_again(store, tmp_path / "back.csv", [right[0], right[1] | {"Depth": '"'}])
    assert held(store) == [
        HELD[0],
        ("2", "2026-05-04", "K1", 92.0, 55.0),
        ("3", "2026-05-04", "K1", None, 9.0),
    ]


def test_json_has_no_record_above(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = tmp_path / "x" / "log.jsonl"
    write_map(path.parent)
    path.write_text(json.dumps(dict(zip(HEADER, ROWS[1], strict=True))) + "\n", "utf-8")
    [failure] = load(store, path).failures
    assert "its records have none above them; expected no [files] as_above" in failure


# A sign alone was a crew of its own once, with rates to be compared.
@pytest.mark.parametrize("sign", ['"', "?", "//", "—\u200b—", "…!"])
def test_signs_alone_are_no_code(tmp_path: Path, sign: str) -> None:
    store = build_store(
        tmp_path, [{"crew_code": sign}, {"wrench_code": sign}, {"crew_code": "é"}]
    )
    with store.reader() as con:
        assert con.execute(
            "select crew_code, wrench_code from installation order by 1"
        ).fetchall() == [("CREW-1", None), ("É", None)]
        assert con.execute(
            "select column_name, raw_value, reason from field_fault"
        ).fetchall() == [
            ("wrench_code", sign, "expected a code, which has a letter or a digit")
        ]
    assert reasons(store) == [f"crew_code: '{sign}', expected a crew's code"]


def test_marks_that_the_map_does_not_name_are_asked(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_form(tmp_path / "x", ROWS)
    receipt = taken(store, path, "")
    [question] = [remark for remark in receipt.remarks if "question" in remark]
    assert question == (
        "3 rows hold '\"' for a day, a crew or a setting code, rejected: a question "
        'whether that means as above; if so, write as_above = ["\\""] under [files] of '
        "the site map, and load the file again"
    )
    # As it says: the same file again, by the map that names them.
    taken(store, path)
    assert held(store) == HELD
    rows = [HEADER, [9, "2026-05-04", "?", "M12-68", 92, 55]]
    other = taken(store, write_form(tmp_path / "y", rows), "")
    assert (other.rejected, other.remarks) == (1, [])


def test_a_draft_reads_marks(tmp_path: Path) -> None:
    path = write_form(tmp_path, ROWS, "quay.csv")
    draft = draft_of(path)
    assert draft.header.as_above is not None
    assert draft.header.as_above.reason.startswith("12 cells hold nothing else")
    assert {one.column.name for one in draft.active} >= {"installed_on", "crew_code"}
    assert draft.header.as_above.value == ('"', "do.", "As Above")
    rows = [row for row in draft.header.rows if any(row)]
    assert [row[3] for row in rows] == ["M12-68"] * 4


# Invented: a list in German as a foreman would type it off, with a title and a foot.
BY_HAND: Rows = [
    ["Protokoll Mühle Nord"],
    ["Kolonne:", "K7", "", "Prüfer:", "P2"],
    [],
    ["Lfd. Nr.", "Datum", "Dübeltyp", "Bohrtiefe (mm)", "gereinigt", "Drehmoment (Nm)"],
    [1, "14.05.2026", "M12-68", "92", "ja", "55"],
    [2, '"', '"', "93", '"', "60"],
    [3, "15.05.", '"', '"', "nein", "55,5"],
    ["Summe"],
    ["Übertrag"],
    ["Unterschrift: M."],
]


def test_a_list_by_hand_is_drafted_and_loaded_unaided(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_book(tmp_path / "x", {"Mai": BY_HAND}, "mühle.xlsx")
    draft = draft_of(path, held=read_held(store))
    path.with_suffix(".toml").write_text(toml_of(draft), "utf-8")
    [receipt] = load(store, path).receipts
    assert (receipt.loaded, receipt.rejected, receipt.settled) == (3, 3, 3)
    with store.reader() as con:
        assert con.execute(
            "select installed_on::varchar, crew_code, inspector_code, setting_code, "
            "hole_depth_mm, cleaned, setting_torque_nm from installation order by all"
        ).fetchall() == [
            ("2026-05-14", "K7", "P2", "M12-68", 92.0, True, 55.0),
            ("2026-05-14", "K7", "P2", "M12-68", 93.0, True, 60.0),
            ("2026-05-15", "K7", "P2", "M12-68", 93.0, False, 55.5),
        ]


# Common practice, no source. A dash stands for nothing as often.
@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        *(('"', True), ("- '' -", True), ("–Do.–", True), ("Wie oben", True)),
        *(("-", False), ("", False), ("2", False), ("document", False), ("x", False)),
    ],
)
def test_which_cells_may_say_as_above(cell: str, expected: bool) -> None:
    assert is_mark(cell) is expected


def test_a_column_of_marks_repeats_nothing(tmp_path: Path) -> None:
    rows = [["No", "Day"], [1, '"'], [2, '"']]
    assert draft_of(write_form(tmp_path, rows, "days.csv")).header.as_above is None


def test_thursday_is_no_mark(tmp_path: Path) -> None:
    days = ["Mi", "Do", "Do", "Fr"]
    rows = [["No", "Day"], *([n, day] for n, day in enumerate(days))]
    header = draft_of(write_form(tmp_path, rows, "days.csv")).header
    assert header.as_above is None
    assert [row[1] for row in header.rows] == days


# 13 May 2026 is a Wednesday (Python's date.isocalendar), "Do" Thursday in German.
def test_a_weekday_is_no_mark_among_weekdays(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    header = ["No", "Week", "Day", "Crew", "Code", "Depth", "Torque"]
    rows = [
        header,
        [1, "2026-05-11", "Mi", "K1", "M12-68", 92, 55],
        [2, '"', "Do", "do", '"', 92, 55],
        [3, '"', '"', "K2", '"', 92, 55],
    ]
    path = write_form(tmp_path / "x", rows)
    text = MAP.format(files="""as_above = ['"', "do"]""")
    day = 'installed_on = {week_from = "Week", weekday = "Day"}'
    (path.parent / "quay.toml").write_text(
        text.replace('installed_on = "Day"', day), "utf-8"
    )
    assert not load(store, path).failures
    assert [row[1:3] for row in held(store)] == [
        ("2026-05-13", "K1"),
        ("2026-05-14", "K1"),
        ("2026-05-14", "K2"),
    ]


def test_a_draft_repeats_no_title_between_rows(tmp_path: Path) -> None:
    rows = [*ROWS[:3], ["Crew 2"], [], *ROWS[6:]]
    header = draft_of(write_form(tmp_path, rows, "quay.csv")).header
    days = [row[1] for row in header.rows if sum(map(bool, row)) > 1]
    assert days == ["2026-05-04"] * 4


def test_as_above_is_a_list_of_marks(tmp_path: Path) -> None:
    write_map(tmp_path, "as_above = [1]")
    with pytest.raises(FirmsetError, match=r"as_above.*expected a list of the marks"):
        read_site_map(tmp_path / "quay.toml")
