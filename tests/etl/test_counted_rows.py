"""Rows that say how many anchors they stand for count as one each, and a receipt asks.

What such columns are called is common practice, no source.
"""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from tests.builders import build_store, load, write_csv, write_log
from tests.etl.one_column_more import remarks_on


def asked(folder: Path, header: str, cells: list[str]) -> list[str]:
    """Return what is asked of the counts in one more column."""
    remarks = remarks_on(folder, header, cells)
    return [remark for remark in remarks if "several anchors" in remark]


def test_a_receipt_asks_whether_rows_stand_for_several(tmp_path: Path) -> None:
    (question,) = asked(tmp_path, "Qty", ["1", " 8 ", "", "4", "x", "2"])
    assert question == (
        "column 'Qty' says more than 1 in 3 of 6 rows, 15 in all: a question whether "
        "rows stand for several anchors; each row now counts as one, as nothing says "
        "what was measured of the others. If so, send a row for each anchor"
    )


# Where another column is the record's number, "Anchors" counts them.
def test_a_receipt_asks_of_anchors_that_are_counted(tmp_path: Path) -> None:
    (question,) = asked(tmp_path, "Anchors", ["4", "6", "4"])
    assert question.startswith("column 'Anchors' says more than 1 in 3 of 3 rows, 14 ")


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Qty", ["1", "1", ""]),
        ("Qty", ["2", *["1"] * 99]),
        ("Anchors", ["1", "1", ""]),
        ("Plates", ["1", "4", "8"]),
        # The words of a count, and a record's number.
        ("Dübel-Nr.", ["1", "4", "8"]),
    ],
)
def test_of_single_anchors_nothing_is_asked(
    tmp_path: Path, header: str, cells: list[str]
) -> None:
    assert asked(tmp_path, header, cells) == []


def test_a_count_that_the_map_reads_is_no_question(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = write_log(tmp_path / "counted", [{"brush_count": 4} for _ in range(3)])
    path.write_text(path.read_text("utf-8").replace("brush_count", "Count"), "utf-8")
    (site_map,) = path.parent.glob("*.toml")
    text = site_map.read_text("utf-8")
    assert 'brush_count = "brush_count"' in text
    site_map.write_text(text.replace('"brush_count"', '"Count"'), "utf-8")
    (receipt,) = load(store, path).receipts
    assert [one for one in receipt.remarks if "several anchors" in one] == []


def test_a_receipt_asks_of_numbers_that_are_ranges(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    single = write_log(tmp_path / "a", [{"record_id": n} for n in ("1", "2", "3")])
    [receipt] = load(store, single).receipts
    assert receipt.remarks == []
    numbers = ("11", "12-15", "16 - 20")
    several = write_log(tmp_path / "b", [{"record_id": n} for n in numbers])
    [receipt] = load(store, several).receipts
    question = (
        "record numbers as '12-15': a question whether rows stand for several anchors; "
        "each row now counts as one, as nothing says what was measured of the others. "
        "If so, send a row for each anchor"
    )
    assert (receipt.loaded, receipt.remarks) == (3, [question])


def test_where_the_map_tells_a_rows_anchors_apart_nothing_is_asked(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    row = {"Plate": "P1", "Day": "2026-05-04", "Crew": "K1", "Set": "M12-68"}
    torques = {"Torque 1": 54, "Torque 2": 55, "Qty": 2}
    (tmp_path / "plates").mkdir()
    path = write_csv(tmp_path / "plates" / "plates.csv", [row | torques])
    path.with_suffix(".toml").write_text(
        """
        [site]
        code = "PLATES"
        name = "Plates"
        time_zone = "Europe/Lisbon"
        [files]
        match = "plates.csv"
        anchors = ["1", "2"]
        [columns]
        record_id = {from = "anchor", within = ["Plate"]}
        installed_on = "Day"
        crew_code = "Crew"
        setting_code = "Set"
        setting_torque_nm = "Torque {anchor}"
        """,
        "utf-8",
    )
    receipts = load(store, path).receipts
    assert [(one.loaded, one.remarks) for one in receipts] == [(1, [])] * 2


@pytest.mark.parametrize("header", ["Anzahl", "No. of anchors", "Qté", "Stk."])
def test_a_draft_says_what_becomes_of_them(tmp_path: Path, header: str) -> None:
    rows = [{"Date": "2026-05-04", "Crew": "K1", header: n} for n in ("1", "4", "8")]
    [remark] = draft_of(write_csv(tmp_path / "log.csv", rows)).remarks
    assert remark == (
        f"{header!r} says more than 1 in 2 rows: each row counts as one anchor; where "
        "it stands for several, the log should have a row for each"
    )


# "Anzahl", a count, is spelt as near to a number's header as "Anz. Nr." is.
def test_a_count_is_no_record_number_without_being_asked(tmp_path: Path) -> None:
    rows = [{"Anzahl": n, "Datum": "2026-05-04", "Kolonne": "K1"} for n in "148"]
    draft = draft_of(write_csv(tmp_path / "log.csv", rows))
    assert "record_id" in draft.only_guessed


def test_anchors_may_be_numbers_or_counts(tmp_path: Path) -> None:
    day = {"Date": "2026-05-04", "Crew": "K1"}
    numbers = [day | {"Anchors": str(n)} for n in (1, 2, 3)]
    assert draft_of(write_csv(tmp_path / "log.csv", numbers)).remarks == ()
    counts = [
        day | {"Ref": f"P{place}", "Anchors": str(count)}
        for place, count in enumerate((4, 6, 4))
    ]
    [remark] = draft_of(write_csv(tmp_path / "log.csv", counts)).remarks
    assert remark.startswith("'Anchors' says more than 1 in 3 rows")


def test_a_draft_says_nothing_of_ones(tmp_path: Path) -> None:
    rows = [{"Date": "2026-05-04", "Crew": "K1", "Qty": "1"} for _ in range(3)]
    assert draft_of(write_csv(tmp_path / "log.csv", rows)).remarks == ()


@pytest.mark.parametrize(
    ("numbers", "is_said"),
    [
        (["1-4", "5-8", "9 - 12"], True),
        (["A1 to A4", "A5 to A6", "A7"], True),
        (["1", "2-5", "6", "7", "8-9"], True),
        (["1-1", "1-2", "2-1", "2-2"], False),  # A plate's anchors.
        (["2026-01", "2026-02", "2026-03"], False),
        (["1", "2", "3"], False),
        (["3-1", "2-1", "2-1"], False),
        (["1-2", "4-6", "9-12"], False),
        (["1-4", "5-8", "x", "y", "z"], False),
        (["1-4"], False),
    ],
)
def test_a_draft_asks_of_numbers_that_go_on(
    tmp_path: Path, numbers: list[str], is_said: bool
) -> None:
    rows = [{"Anchor nos.": one, "Date": "2026-05-04"} for one in numbers]
    remarks = draft_of(write_csv(tmp_path / "log.csv", rows)).remarks
    first = next((one for one in numbers if not one.isdigit()), "")
    begins = f"record numbers as {first!r} seem to name several anchors: each row"
    assert [one.startswith(begins) for one in remarks] == [True] * is_said
