"""A sheet taken out again: what it replaced comes back, whatever came after it."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from etl.ledger import open_ledger
from etl.sheets.undo import unload_sheet
from queries.errors import FirmsetError
from queries.store import Store
from queries.tally import counted_sql
from tests.builders import Row, build_store, load, write_csv, write_setting_data


def _load(store: Store, path: Path, rows: Sequence[Row]) -> int:
    [receipt] = load(store, write_csv(path, rows)).receipts
    assert receipt.is_new
    return receipt.source_file_id


def _unload(store: Store, source_file_id: int) -> int:
    with open_ledger(store) as con:
        con.execute("begin")
        count = unload_sheet(con, source_file_id)
        con.execute("commit")
    return count


def _held(store: Store, sql: str) -> list[tuple[Any, ...]]:
    with open_ledger(store) as con:
        return con.execute(sql).fetchall()


CREWS = "select crew_code, crew_name, source_file_id from crew order by all"
KEPT = "select source_file_id, replaced_file_id from replaced_sheet_row order by all"


def _three_crew_files(folder: Path) -> tuple[Store, list[int]]:
    """C1 is named A, then B, then C by three files; C2 comes with the second."""
    store = build_store(folder)
    names = [
        [{"crew_code": "C1", "crew_name": "A"}],
        [
            {"crew_code": "C1", "crew_name": "B"},
            {"crew_code": "C2", "crew_name": "X"},
        ],
        [{"crew_code": "C1", "crew_name": "C"}],
    ]
    ids = [
        _load(store, folder / f"crews_{number}.csv", rows)
        for number, rows in enumerate(names)
    ]
    return store, ids


def test_in_order_each_brings_back_what_it_replaced(tmp_path: Path) -> None:
    store, (first, second, third) = _three_crew_files(tmp_path)
    assert _unload(store, third) == 1
    assert _held(store, CREWS) == [("C1", "B", second), ("C2", "X", second)]
    assert _unload(store, second) == 2
    assert _held(store, CREWS) == [("C1", "A", first)]
    assert _unload(store, first) == 1
    assert _held(store, CREWS) == _held(store, KEPT) == []


# The three can be taken out in six orders; the last of what stays is what is held.
@pytest.mark.parametrize(
    ("order", "names"),
    [
        ((1, 2, 0), ["C", "A"]),
        ((1, 0, 2), ["C", "C"]),
        ((0, 1, 2), ["C", "C"]),
        ((0, 2, 1), ["C", "B"]),
        ((2, 0, 1), ["B", "B"]),
        ((2, 1, 0), ["B", "A"]),
    ],
)
def test_out_of_order_the_last_of_what_stays_is_held(
    tmp_path: Path, order: tuple[int, ...], names: list[str]
) -> None:
    store, ids = _three_crew_files(tmp_path)
    found = []
    for position in order:
        # File 1 (the second) has two rows, the others one, replaced or not.
        assert _unload(store, ids[position]) == (2 if position == 1 else 1)
        found += _held(store, "select crew_name from crew where crew_code = 'C1'")
    assert found == [(name,) for name in names]
    assert _held(store, CREWS) == _held(store, KEPT) == []


def test_a_row_comes_back_as_it_was(tmp_path: Path) -> None:
    """Every type of column: an embedment of 1/3 of 200 mm, a list, blanks, sizes."""
    setting = {
        "embedment_mm": 200 / 3,
        "base_materials": "CRACKED;UNCRACKED",
        "document": 'quotes " and ü',
    }
    store = build_store(tmp_path, settings=[setting])
    before = _held(store, "from setting_data")
    changed = write_setting_data(tmp_path, [{"hole_depth_mm": 95}])
    [receipt] = load(store, changed).receipts
    assert _held(store, "from setting_data") != before
    _unload(store, receipt.source_file_id)
    assert _held(store, "from setting_data") == before


def test_a_training_comes_back_with_its_instant(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    row = {"crew_code": "C1", "topic": "Dust", "trained_on": "2026-01-19"}
    _load(store, tmp_path / "trainings.csv", [row])
    before = _held(store, "from training")
    _unload(store, _load(store, tmp_path / "trainings.csv", [row | {"note": "x"}]))
    assert _held(store, "from training") == before


def test_installations_are_judged_again_and_the_tally_follows(tmp_path: Path) -> None:
    # A hole of 92 mm conforms to 90 mm and not to 95 mm.
    store = build_store(tmp_path, [{}, {"hole_depth_mm": 97}])
    masks = "select record_id, columns('.*_mask') from installation order by all"
    tally = "from tally where installations > 0"
    before = _held(store, masks), _held(store, tally)
    nonconforming = "select sum(hole_depth_nonconforming)::integer from tally"
    assert _held(store, nonconforming) == [(0,)]
    changed = write_setting_data(tmp_path, [{"hole_depth_mm": 95}])
    [receipt] = load(store, changed).receipts
    assert _held(store, nonconforming) == [(1,)]
    _unload(store, receipt.source_file_id)
    assert (_held(store, masks), _held(store, tally)) == before
    # And it is what counting anew gives.
    rebuilt = counted_sql("installation")
    assert _held(store, f"{tally} except ({rebuilt})") == []


def test_an_older_sheet_taken_out_judges_nothing_anew(tmp_path: Path) -> None:
    """Of 90, 95 and 100 mm the last counts, and still does without the second."""
    store = build_store(tmp_path, [{"hole_depth_mm": 97}])
    ids = []
    for depth in (95, 100):
        [receipt] = load(
            store, write_setting_data(tmp_path, [{"hole_depth_mm": depth}])
        ).receipts
        ids.append(receipt.source_file_id)
    depth_sql = """
        select hole_depth_mm, (select sum(hole_depth_nonconforming)::integer from tally)
        from setting_data
    """
    assert _unload(store, ids[0]) == 1
    assert _held(store, depth_sql) == [(100.0, 1)]
    assert _unload(store, ids[1]) == 1
    assert _held(store, depth_sql) == [(90.0, 0)]


def test_a_code_that_installations_are_judged_by_does_not_vanish(
    tmp_path: Path,
) -> None:
    rows = [{}] * 3 + [{"setting_code": "M16-84"}]
    settings = [{}, {"setting_code": "M16-84"}, {"setting_code": "UNUSED"}]
    store = build_store(tmp_path, rows, settings=settings)
    before = _held(store, "from setting_data order by setting_code")
    with pytest.raises(FirmsetError) as refused:
        _unload(store, 1)
    assert str(refused.value) == (
        "receipt 1: 3 installations are judged by M12-68 and 1 installation is judged "
        "by M16-84: unload their logs first"
    )
    assert _held(store, "from setting_data order by setting_code") == before


def test_an_earlier_revision_needs_its_setting_data_too(tmp_path: Path) -> None:
    """It can come back when the log that revised it is taken out."""
    rows = [
        {"record_id": "R1", "revision": 0, "setting_code": "OLD"},
        {"record_id": "R1", "revision": 1, "setting_code": "M12-68"},
    ]
    store = build_store(tmp_path, rows, settings=[{"setting_code": "OLD"}, {}])
    with pytest.raises(FirmsetError, match="1 installation is judged by OLD"):
        _unload(store, 1)


def test_setting_data_that_nothing_is_judged_by_go(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    more = write_setting_data(tmp_path, [{"setting_code": "NEW"}, {}])
    [receipt] = load(store, more).receipts
    assert (receipt.loaded, receipt.duplicate) == (1, 1)
    assert _unload(store, receipt.source_file_id) == 1
    assert _held(store, "select setting_code from setting_data") == [("M12-68",)]


def test_what_was_taken_out_can_be_loaded_again(tmp_path: Path) -> None:
    store, (_, _, third) = _three_crew_files(tmp_path)
    _unload(store, third)
    [receipt] = load(store, tmp_path / "crews_2.csv").receipts
    assert (receipt.revised, receipt.is_new) == (1, True)


def test_only_receipts_of_sheets_are_taken_out(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    with pytest.raises(FirmsetError, match="receipt 2: is of installations: expected"):
        _unload(store, 2)
    with pytest.raises(FirmsetError, match="receipt 9: there is none of this number"):
        _unload(store, 9)
