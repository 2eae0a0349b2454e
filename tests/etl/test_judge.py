"""Judging a whole store again: the guard band, and nothing else changes."""

from pathlib import Path

import pytest

from etl.judge import judge_store
from queries.errors import FirmsetError
from queries.readers.rates import read_rates
from queries.readers.records import read_record
from queries.selection import Selection
from queries.store import Store
from tests.builders import NOW, build_store

# 55 Nm, default band 49.5 to 60.5. A tool that errs by 4 % of 55 = 2.2 Nm leaves 51.7
# to 58.3 (4 %: ISO 6789 above 10 Nm, from memory).
TORQUES = ("51.6", "51.7", "58.3", "58.4")


def verdicts(store: Store) -> list[str]:
    with store.reader() as con:
        records = [read_record(con, "SITE-1", f"R{n}") for n in (1, 2, 3, 4)]
    return [
        record.verdicts.filter(check="setting_torque")["verdict"][0]
        for record in records
        if record
    ]


def nonconforming(store: Store) -> int:
    with store.reader() as con:
        rates = read_rates(con, [], Selection(check_names=("setting_torque",)))
    return int(rates["nonconforming"][0])


def test_a_guard_band_moves_both_ends_inward(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"setting_torque_nm": torque} for torque in TORQUES])
    assert verdicts(store) == ["conforming"] * 4
    assert judge_store(store, NOW, 0.04) == (4, 2)
    assert verdicts(store) == [
        *("nonconforming", "conforming", "conforming", "nonconforming")
    ]
    assert nonconforming(store) == 2
    # It stays on when verdicts are only computed again, and goes off.
    judge_store(store, NOW)
    assert nonconforming(store) == 2
    judge_store(store, NOW, 0)
    assert (nonconforming(store), verdicts(store)) == (0, ["conforming"] * 4)


def test_a_guard_band_that_leaves_nothing_is_refused(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    with pytest.raises(FirmsetError, match=r"M12-68; expected less"):
        judge_store(store, NOW, 0.11)
    judge_store(store, NOW)
    assert nonconforming(store) == 0


def test_judging_again_changes_no_verdict(tmp_path: Path) -> None:
    rows = [{"hole_depth_mm": "80"}, {"packing_mm": ""}, {"outcome": "abandoned"}, {}]
    store = build_store(tmp_path, rows)

    def everything() -> list[object]:
        with store.reader() as con:
            return [
                con.sql(f"select * from {table} order by all").fetchall()
                for table in ("installation", "tally")
            ]

    before = everything()
    judge_store(store, NOW)
    assert everything() == before


def test_there_must_be_a_store(tmp_path: Path) -> None:
    with pytest.raises(FirmsetError, match="no such store"):
        judge_store(Store(tmp_path / "nowhere"), NOW)
