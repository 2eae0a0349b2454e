"""Sheets in the ledger: every column arrives, rows are revised by key."""

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import duckdb
import pytest

from etl.receipt import Receipt
from etl.sheets.declaration import Sheet
from etl.sheets.registry import SHEETS
from queries.build import create_schema
from queries.store import Store
from tests.builders import NOW, Row, build_store, load, write_csv

LATER = datetime(2026, 8, 1, 9, tzinfo=UTC)


def _held(store: Store, sql: str) -> list[tuple[Any, ...]]:
    with store.reader() as con:
        return con.execute(sql).fetchall()


def _load(store: Store, path: Path, rows: list[Row], now: datetime = NOW) -> Receipt:
    [receipt] = load(store, write_csv(path, rows), now=now).receipts
    return receipt


def _fates(receipt: Receipt) -> tuple[int, int, int, int]:
    return receipt.loaded, receipt.revised, receipt.duplicate, receipt.rejected


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_sheet_declares_the_columns_of_its_table(sheet: Sheet) -> None:
    con = duckdb.connect()
    create_schema(con)
    described = con.execute(f"describe {sheet.table}").fetchall()
    declared = [column.name for column in sheet.columns]
    assert [name for name, *_ in described] == [
        *declared,
        "source_file_id",
        "source_row",
    ]
    assert set(sheet.key) <= set(declared)


# A full row a sheet, and the values it must become, written out by hand.
FULL_ROWS: list[tuple[str, str, Row, tuple[Any, ...]]] = [
    (
        "wrench_calibrations",
        "wrench_calibration",
        {
            "wrench_code": "w-1",
            "calibrated_on": "2026-03-02",
            "valid_to_on": "2026-09-01",
            "valid_cycles": "2500",
            "range_low_nm": "10",
            "range_high_nm": "100.5",
            "certificate": "sheet 14",
            "as_found": "Out",
        },
        (
            "W-1",
            date(2026, 3, 2),
            date(2026, 9, 1),
            2500,
            10.0,
            100.5,
            "sheet 14",
            "out",
        ),
    ),
    (
        "crews",
        "crew",
        {
            "crew_code": "c1",
            "crew_name": "North team",
            "site_code": "harbour",
            "employer": "Firm A",
        },
        ("C1", "North team", "HARBOUR", "Firm A"),
    ),
    (
        "trainings",
        "training",
        {
            "crew_code": "c1",
            "topic": "Setting torque",
            "trained_on": "2026-01-19",
            "registered_at": "2026-01-20T08:00+01:00",
            "trainer_code": "t2",
            "note": "at the wall",
        },
        (
            "C1",
            "setting_torque",
            date(2026, 1, 19),
            datetime(2026, 1, 20, 7, tzinfo=UTC),
            "T2",
            "at the wall",
        ),
    ),
    (
        "planned_holes",
        "planned_hole",
        {
            "site_code": "harbour",
            "crew_code": "c1",
            "setting_code": "m12-68",
            "planned_from_on": "2026-08-03",
            "planned_to_on": "2026-08-28",
            "hole_count": "120",
            "drill_method": "Hollow_bit",
            "orientation": "soffit",
        },
        (
            "HARBOUR",
            "C1",
            "M12-68",
            date(2026, 8, 3),
            date(2026, 8, 28),
            120,
            "hollow_bit",
            "soffit",
        ),
    ),
    (
        "inspectors",
        "inspector",
        {"inspector_code": "i7", "site_code": "harbour", "employer": "Firm B"},
        ("I7", "HARBOUR", "Firm B"),
    ),
    (
        "bits",
        "bit",
        {
            "bit_code": "b1",
            "nominal_diameter_mm": "1/2",
            "first_used_on": "2026-01-05",
            "retired_on": "2026-02-05",
        },
        ("B1", 12.7, date(2026, 1, 5), date(2026, 2, 5)),
    ),
]


@pytest.mark.parametrize(
    ("name", "table", "row", "values"), FULL_ROWS, ids=[case[0] for case in FULL_ROWS]
)
def test_every_column_arrives_and_the_same_file_changes_nothing(
    tmp_path: Path, name: str, table: str, row: Row, values: tuple[Any, ...]
) -> None:
    store = build_store(tmp_path)
    path = tmp_path / f"{name}.csv"
    receipt = _load(store, path, [row])
    assert (_fates(receipt), receipt.remarks) == ((1, 0, 0, 0), [])
    expected = [(*values, receipt.source_file_id, 2)]
    assert _held(store, f"from {table}") == expected
    again = _load(store, path, [row], LATER)
    assert (_fates(again), again.is_new) == ((0, 0, 1, 0), False)
    assert again.source_file_id == receipt.source_file_id
    assert _held(store, f"from {table}") == expected


def test_there_is_a_full_row_of_every_sheet() -> None:
    with_cases = {case[0] for case in FULL_ROWS} | {"setting_data"}
    assert with_cases == {sheet.name for sheet in SHEETS}


def test_rows_are_revised_by_key(tmp_path: Path) -> None:
    """By hand: C1 changed, C2 the same, C3 new, one without a name."""
    store = build_store(tmp_path)
    first = [
        {"crew_code": "C1", "crew_name": "North"},
        {"crew_code": "C2", "crew_name": "South"},
    ]
    _load(store, tmp_path / "crews.csv", first)
    second = [
        {"crew_code": "C1", "crew_name": "North", "employer": "Firm A"},
        {"crew_code": "C2", "crew_name": "South"},
        {"crew_code": "C3", "crew_name": "East"},
        {"crew_code": "C4", "crew_name": ""},
    ]
    receipt = _load(store, tmp_path / "crews_2.csv", second)
    assert (receipt.rows_read, *_fates(receipt)) == (4, 1, 1, 1, 1)
    held = _held(store, "select crew_code, employer, source_row from crew order by all")
    assert held == [("C1", "Firm A", 2), ("C2", None, 3), ("C3", None, 4)]


def test_a_new_file_that_brings_nothing_new_has_its_receipt(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    row = {"crew_code": "C1", "crew_name": "North"}
    first = _load(store, tmp_path / "crews.csv", [row])
    receipt = _load(store, tmp_path / "crews_2.csv", [row | {"employer": ""}])
    assert (_fates(receipt), receipt.is_new) == ((0, 0, 1, 0), True)
    assert receipt.source_file_id == first.source_file_id + 1
    ids = _held(store, "select source_file_id from source_file where content = 'crews'")
    assert sorted(ids) == [(first.source_file_id,), (receipt.source_file_id,)]


# 12 months or 5,000 cycles where nothing else is set: ISO 6789 practice, from memory.
@pytest.mark.parametrize(
    ("calibrated_on", "valid_to_on"),
    [
        ("2026-03-02", date(2027, 3, 2)),
        ("2028-02-29", date(2029, 2, 28)),
    ],
)
def test_a_calibration_holds_for_a_year_where_nothing_is_said(
    tmp_path: Path, calibrated_on: str, valid_to_on: date
) -> None:
    store = build_store(tmp_path)
    row = {
        "wrench_code": "W1",
        "calibrated_on": calibrated_on,
        "range_low_nm": 10,
        "range_high_nm": 100,
    }
    path = tmp_path / "wrench_calibrations.csv"
    _load(store, path, [row])
    assert _held(store, "select valid_to_on, valid_cycles from wrench_calibration") == [
        (valid_to_on, 5000)
    ]
    # Said outright it is the same calibration.
    said = row | {"valid_to_on": valid_to_on.isoformat(), "valid_cycles": 5000}
    assert _fates(_load(store, path, [said])) == (0, 0, 1, 0)


def test_a_wrench_is_found_in_or_out_of_tolerance(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    row = {"calibrated_on": "2026-03-02", "range_low_nm": 10, "range_high_nm": 100}
    rows = [
        row | {"wrench_code": code, "as_found": found}
        for code, found in (("W1", "IN"), ("W2", ""), ("W3", "passed"))
    ]
    receipt = _load(store, tmp_path / "wrench_calibrations.csv", rows)
    assert _fates(receipt) == (2, 0, 0, 1)
    reason = "as_found = 'passed': expected one of in, out, or blank"
    assert _held(store, "select reason from rejected_row") == [(reason,)]
    held = _held(store, "select as_found from wrench_calibration order by wrench_code")
    assert held == [("in",), (None,)]


def test_a_training_keeps_when_it_was_first_registered(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    path = tmp_path / "trainings.csv"
    row = {"crew_code": "C1", "topic": "hole depth", "trained_on": "2026-01-19"}
    _load(store, path, [row], NOW)
    assert _fates(_load(store, path, [row | {"note": ""}], LATER)) == (0, 0, 1, 0)
    assert _fates(_load(store, path, [row | {"note": "x"}], LATER)) == (0, 1, 0, 0)
    other = row | {"crew_code": "C2"}
    assert _fates(_load(store, path, [other], LATER)) == (1, 0, 0, 0)
    held = _held(store, "select crew_code, registered_at from training order by all")
    assert held == [("C1", NOW), ("C2", LATER)]


def test_a_topic_that_is_no_check_is_kept_with_a_remark(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows = [
        {"crew_code": crew, "topic": topic, "trained_on": "2026-01-19"}
        for crew, topic in (
            ("C1", "Dust and noise"),
            ("C2", "edge-distance"),
            ("C3", "Dust and noise"),
        )
    ]
    receipt = _load(store, tmp_path / "trainings.csv", rows)
    assert receipt.remarks == [
        "rows 2, 4: topic = 'Dust and noise' is no check's name, kept as it stands"
    ]
    topics = _held(store, "select topic from training order by crew_code")
    assert topics == [("Dust and noise",), ("edge_distance",), ("Dust and noise",)]


PLAN = {
    "site_code": "S1",
    "crew_code": "",
    "setting_code": "M12-68",
    "planned_from_on": "2026-08-03",
    "planned_to_on": "2026-08-28",
    "hole_count": 120,
}


def test_a_plan_without_a_crew_is_revised_and_not_doubled(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    _load(store, tmp_path / "planned_holes.csv", [PLAN])
    changed = [PLAN | {"hole_count": 90}, PLAN | {"crew_code": "C1", "hole_count": 30}]
    receipt = _load(store, tmp_path / "planned_holes.csv", changed)
    assert _fates(receipt) == (1, 1, 0, 0)
    held = _held(store, "select crew_code, hole_count from planned_hole order by all")
    assert held == [("C1", 30), (None, 90)]


def test_a_plan_of_unknown_setting_data_is_kept_with_a_remark(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows = [PLAN | {"setting_code": "M99", "crew_code": f"C{n}"} for n in range(7)]
    receipt = _load(store, tmp_path / "planned_holes.csv", rows)
    assert _fates(receipt) == (7, 0, 0, 0)
    assert receipt.remarks == [
        (
            "rows 2, 3, 4, 5, 6 and 2 more: setting_code = 'M99' is not loaded yet, "
            "kept as it stands"
        )
    ]


# As a log's: what differs in case, blanks and dashes only is one code.
def test_a_plan_names_setting_data_in_any_spelling(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    rows = [PLAN | {"setting_code": code} for code in ("m12 68", "M12-68", "M12-69")]
    receipt = _load(store, tmp_path / "planned_holes.csv", rows)
    # The first two are one plan, which stands there twice.
    assert _fates(receipt) == (2, 0, 1, 0)
    assert receipt.remarks == [
        "setting_code M12 68 read as M12-68",
        "row 4: setting_code = 'M12-69' is not loaded yet, kept as it stands",
    ]
    held = _held(store, "select setting_code from planned_hole order by all")
    assert held == [("M12-68",), ("M12-69",)]


def test_a_folder_is_loaded_setting_data_first(tmp_path: Path) -> None:
    """Bits come before setting data in the alphabet; plans name setting codes."""
    logs = tmp_path / "logs"
    logs.mkdir()
    write_csv(logs / "planned_holes.csv", [PLAN])
    write_csv(logs / "bits.csv", [{"bit_code": "B1", "nominal_diameter_mm": 12}])
    store = build_store(tmp_path, [{}])
    assert _held(
        store, "select content, remarks from source_file order by source_file_id"
    ) == [
        ("setting data", []),
        ("planned holes", []),
        ("bits", []),
        ("installations", []),
    ]
