"""A file's load taken back: as if it had never come."""

from collections.abc import Sequence
from pathlib import Path

import polars as pl
import pytest

from etl.unload import unload
from queries.errors import FirmsetError
from queries.proof import all_proofs, read_faults
from queries.readers.intake import read_receipts, read_rejects
from queries.store import Store
from tests.builders import (
    NOW,
    Row,
    build_store,
    load,
    write_csv,
    write_log,
    write_setting_data,
)
from tests.ledger import ledger_content


def load_rows(store: Store, folder: Path, rows: Sequence[Row]) -> int:
    [receipt] = load(store, write_log(folder, rows, name=folder.name)).receipts
    return receipt.source_file_id


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_store(
        tmp_path,
        [
            {"record_id": "A", "revision": "1", "setting_torque_nm": "50"},
            {"record_id": "B", "crew_code": "C-07"},
            {"record_id": "D", "hole_depth_mm": "ca. 90"},
        ],
    )


# The first file had both records, so that the second's were further revisions. Without
# it they are the first of their records, and none of them moves.
def test_the_other_files_receipt_follows_what_is_taken_back(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    first = load_rows(
        store, tmp_path / "first", [{"record_id": "A"}, {"record_id": "C"}]
    )
    second = load_rows(
        store,
        tmp_path / "second",
        [{"record_id": "A", "revision": "1"}, {"record_id": "C", "revision": "2"}],
    )

    def counts() -> tuple[int, int]:
        with store.reader() as con:
            [row] = (
                read_receipts(con).filter(pl.col("source_file_id") == second).to_dicts()
            )
            assert read_faults(con, all_proofs()).to_dicts() == []
        return row["loaded"], row["revised"]

    assert counts() == (0, 2)
    unload(store, first, now=NOW)
    assert counts() == (2, 0)


# What a second file can do to the first one's rows; each is undone.
@pytest.mark.parametrize(
    "rows",
    [
        [{"record_id": "NEW", "setting_torque_nm": "30"}],
        [{"record_id": "A", "revision": "2"}],  # supersedes
        [{"record_id": "A", "revision": "0"}],  # superseded at once
        [{"record_id": "A", "revision": "2", "installed_on": "2026-05-09"}],
        [{"record_id": "B", "crew_code": "C-07"}],  # duplicate
        [{"record_id": "B", "crew_code": "C-07", "note": "fuller"}],  # displaces
        [{"record_id": "B", "crew_code": "C-07", "hole_depth_mm": ""}],  # conflict
        [{"record_id": "X", "crew_code": "CREW C - 07"}],
        [{"record_id": "X", "crew_code": "C - 07"}],  # a longer spelling: renames
        [{"record_id": "Y", "crew_code": ""}],  # rejected
        [{"record_id": "D", "hole_depth_mm": "ca. 91"}],  # as unreadable: duplicate
    ],
)
def test_unload_restores_what_was(
    store: Store, tmp_path: Path, rows: Sequence[Row]
) -> None:
    before = ledger_content(store)
    receipt = load_rows(store, tmp_path / "second", rows)
    unload(store, receipt, now=NOW)
    assert ledger_content(store) == before


def test_a_duplicate_becomes_the_held_row_when_the_first_is_taken_back(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    first = load_rows(store, tmp_path / "first", [{"record_id": "A"}])
    second = load_rows(
        store, tmp_path / "second", [{"record_id": "B"}, {"record_id": "A"}]
    )
    unload(store, first, now=NOW)
    with store.reader() as con:
        rows = con.execute(
            "select record_id, source_file_id, source_row from installation "
            "order by record_id"
        ).fetchall()
        counts = con.execute(
            "select loaded, duplicate from source_file where source_file_id = ?",
            [second],
        ).fetchall()
    assert rows == [("A", second, 3), ("B", second, 2)]
    assert counts == [(2, 0)]


def test_a_conflict_counts_when_the_row_it_lost_to_is_taken_back(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path)
    full = load_rows(store, tmp_path / "full", [{"record_id": "A", "note": "all"}])
    gaps = load_rows(store, tmp_path / "gaps", [{"record_id": "A", "note": ""}])
    with store.reader() as con:
        assert read_rejects(con, gaps).height == 1
    unload(store, full, now=NOW)
    with store.reader() as con:
        assert read_rejects(con, gaps).is_empty()
        notes = con.execute("select note, source_file_id from installation").fetchall()
        counts = con.execute(
            "select loaded, rejected from source_file where source_file_id = ?", [gaps]
        ).fetchall()
    assert notes == [(None, gaps)]
    assert counts == [(1, 0)]


def test_the_receipt_stays_marked_and_the_file_can_come_again(
    store: Store, tmp_path: Path
) -> None:
    path = write_log(tmp_path / "again", [{"record_id": "Z"}], name="again")
    [first] = load(store, path).receipts
    unload(store, first.source_file_id, now=NOW)
    with store.reader() as con:
        marked = con.execute(
            "select source_file_id from source_file where unloaded_at is not null"
        ).fetchall()
    assert marked == [(first.source_file_id,)]
    [second] = load(store, path).receipts
    assert (second.is_new, second.loaded) == (True, 1)
    assert second.source_file_id != first.source_file_id


def test_the_only_file_of_a_site_takes_the_site_with_it(
    store: Store, tmp_path: Path
) -> None:
    path = write_log(tmp_path / "other", [{}], site="OTHER")
    [receipt] = load(store, path).receipts
    unload(store, receipt.source_file_id, now=NOW)
    with store.reader() as con:
        sites = con.execute("select site_code from site").fetchall()
    assert sites == [("SITE-1",)]


def test_a_site_goes_with_its_only_file_whoever_spells_it_otherwise(
    tmp_path: Path,
) -> None:
    """The sheet of crews names HARB1; the log, which is HARB-1's, is taken back."""
    store = build_store(tmp_path / "store")
    crews = [{"crew_code": "C1", "crew_name": "x", "site_code": "HARB1"}]
    load(store, write_csv(tmp_path / "crews.csv", crews))
    log = write_log(tmp_path / "log", [{}], site="HARB-1")
    [receipt] = load(store, log).receipts
    unload(store, receipt.source_file_id, now=NOW)
    with store.reader() as con:
        assert con.execute("select site_code from site").fetchall() == []


def test_unload_publishes(store: Store, tmp_path: Path) -> None:
    receipt = load_rows(store, tmp_path / "second", [{"record_id": "NEW"}])
    before = store.current_edition_id()
    words = unload(store, receipt, now=NOW)
    assert f"receipt {receipt} (SITE-1_second.csv) taken back: 1 row" in words
    assert store.current_edition_id() == (before or 0) + 1


def test_no_such_receipt(store: Store) -> None:
    with pytest.raises(FirmsetError, match="receipt 99: there is none"):
        unload(store, 99, now=NOW)


def test_taken_back_already(store: Store, tmp_path: Path) -> None:
    receipt = load_rows(store, tmp_path / "second", [{"record_id": "NEW"}])
    unload(store, receipt, now=NOW)
    with pytest.raises(FirmsetError, match=r"was taken back at 2027-07-01 12:00 UTC"):
        unload(store, receipt, now=NOW)


# Only current rows are judged again when setting data change: one that comes back
# later is judged then. 30 Nm is under 49.5 Nm, and within 27 to 33 Nm.
def test_a_row_that_comes_back_is_judged_by_the_setting_data_of_today(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path, [{"record_id": "A", "setting_torque_nm": "30"}])
    revised = load_rows(store, tmp_path / "b", [{"record_id": "A", "revision": "1"}])
    (tmp_path / "new").mkdir()
    load(store, write_setting_data(tmp_path / "new", [{"setting_torque_nm": 30}]))
    unload(store, revised, now=NOW)
    with store.reader() as con:
        assert read_faults(con, all_proofs()).is_empty()
        counts = con.execute(
            "select sum(setting_torque_judged)::bigint, "
            "sum(setting_torque_nonconforming)::bigint from tally"
        ).fetchall()
    assert counts == [(1, 0)]


def test_a_sheet_is_taken_back(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"setting_torque_nm": "30"}])
    before = ledger_content(store)
    (tmp_path / "new").mkdir()
    path = write_setting_data(tmp_path / "new", [{"setting_torque_nm": 30}])
    [receipt] = load(store, path).receipts
    assert ledger_content(store) != before
    unload(store, receipt.source_file_id, now=NOW)
    assert ledger_content(store) == before


def test_setting_data_that_installations_need_stay(store: Store) -> None:
    with store.reader() as con:
        [(sheet,)] = con.execute(
            "select source_file_id from source_file where content = 'setting data'"
        ).fetchall()
    with pytest.raises(FirmsetError, match="judged by M12-68: unload their logs"):
        unload(store, sheet, now=NOW)
