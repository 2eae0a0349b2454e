"""First entries of revised records, beside those in force: counted by hand and anew."""

import random
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from queries.errors import FirmsetError
from queries.judgement import CHECK_NAMES, RATE_NAMES
from queries.readers.rates import read_rates
from queries.readers.revised import (
    changed_records,
    mended_by_check,
    read_first_rates,
    read_revised,
)
from queries.selection import Selection
from queries.store import Store
from tests.builders import (
    Row,
    build_store,
    load,
    write_csv,
    write_log,
    write_setting_data,
)

# 40 and 45 Nm lie under the band of the default setting, 49.5 to 60.5 Nm.
FIRST: list[Row] = [
    {"record_id": "mended", "setting_torque_nm": "40"},
    {"record_id": "twice", "setting_torque_nm": "40"},
    {"record_id": "worse", "setting_torque_nm": "55"},
    {"record_id": "late", "setting_torque_nm": ""},
    {"record_id": "gone", "setting_torque_nm": "55"},
    {"record_id": "same", "setting_torque_nm": "45"},
    {"record_id": "alone", "setting_torque_nm": "45"},
]
SECOND: list[Row] = [
    {"record_id": "mended", "setting_torque_nm": "55"},
    {"record_id": "twice", "setting_torque_nm": "45"},
    {"record_id": "worse", "setting_torque_nm": "40"},
    {"record_id": "late", "setting_torque_nm": "55"},
    {"record_id": "gone", "setting_torque_nm": ""},
    {"record_id": "same", "setting_torque_nm": "46", "crew_code": "CREW-2"},
]
THIRD: list[Row] = [{"record_id": "twice", "setting_torque_nm": "55"}]


def revised_store(folder: Path, *revisions: list[Row]) -> Store:
    """Return a store into which one file a revision was loaded, the last one first."""
    store = build_store(folder)
    for number, rows in reversed([*enumerate(revisions)]):
        numbered = [dict(row) | {"revision": str(number)} for row in rows]
        load(store, write_log(folder / f"r{number}", numbered).parent)
    return store


def first_rates(
    store: Store, check: str, by: str = "site", selection: Selection | None = None
) -> list[dict[str, object]]:
    with store.reader() as con:
        chosen = selection or Selection()
        return read_first_rates(con, by, chosen, check, read_revised(con)).to_dicts()


# By hand: of 7 records 6 had a torque at first, 4 of them under the band; now 6 have
# one, 3 under it.
def test_a_rate_as_first_logged_beside_the_present(tmp_path: Path) -> None:
    store = revised_store(tmp_path, FIRST, SECOND, THIRD)
    assert first_rates(store, "setting_torque") == [
        {
            "group": "SITE-1",
            "revised": 6,
            "mended": 2,
            "worsened": 1,
            "answered": 1,
            "withdrawn": 1,
            "first_judged": 6,
            "first_nonconforming": 4,
            "first_rate": pytest.approx(4 / 6),
            "judged": 6,
            "nonconforming": 3,
            "rate": pytest.approx(3 / 6),
        }
    ]
    assert [
        (row["group"], row["revised"], row["mended"])
        for row in first_rates(store, "setting_torque", "crew")
    ] == [("CREW-1", 5, 2), ("CREW-2", 1, 0)]
    with store.reader() as con:
        revised = read_revised(con)
    assert mended_by_check(revised, Selection()) == {"setting_torque": 2}
    found = changed_records(revised, Selection(), "setting_torque")
    assert found.select("record_id", "revision", "first", "now", "change").rows() == [
        ("gone", 1, "conforming", "none", "withdrawn"),
        ("late", 1, "none", "conforming", "answered"),
        ("mended", 1, "nonconforming", "conforming", "mended"),
        ("same", 1, "nonconforming", "nonconforming", None),
        ("twice", 2, "nonconforming", "conforming", "mended"),
        ("worse", 1, "conforming", "nonconforming", "worsened"),
    ]


@pytest.mark.parametrize(
    ("selection", "records"),
    [
        (Selection(crew_codes=("CREW-2",)), ["same"]),
        (Selection(to_on=date(2026, 5, 3)), []),
        (Selection(from_on=date(2026, 5, 5)), []),
        (Selection(from_on=date(2026, 5, 4), to_on=date(2026, 5, 4)), None),
        (Selection(site_codes=("SITE-2",)), []),
        (Selection(anchor_sizes=("M8",)), []),
        (Selection(anchor_sizes=("M12",), site_codes=("SITE-1",)), None),
    ],
)
def test_a_selection_is_of_entries_in_force(
    tmp_path: Path, selection: Selection, records: list[str] | None
) -> None:
    store = revised_store(tmp_path, FIRST, SECOND)
    with store.reader() as con:
        revised = read_revised(con)
    found = changed_records(revised, selection, "setting_torque")["record_id"]
    every = ["gone", "late", "mended", "same", "twice", "worse"]
    assert found.to_list() == (every if records is None else records)


# The reference: a store that holds the first entries alone, by the ordinary rates.
def test_first_rates_are_those_of_the_first_entries_alone(tmp_path: Path) -> None:
    chance = random.Random(20261130)

    def entry(number: int) -> Row:
        return {
            "record_id": f"R{number}",
            "crew_code": f"C{number % 3}",
            "setting_torque_nm": chance.choice(["55", "40", "", "?"]),
            "hole_depth_mm": chance.choice(["92", "80", ""]),
            "brush_count": chance.choice(["2", "1", ""]),
            "outcome": chance.choice(["set", "set", "abandoned"]),
        }

    first = [entry(number) for number in range(120)]
    later = [entry(number) for number in range(0, 120, 2)]
    last = [entry(number) for number in range(0, 120, 4)]
    store = revised_store(tmp_path / "all", first, later, last)
    alone = revised_store(tmp_path / "first", first)
    for check in RATE_NAMES:
        found = {
            str(row["group"]): (row["first_judged"], row["first_nonconforming"])
            for row in first_rates(store, check, "crew")
        }
        with alone.reader() as con:
            rates = read_rates(con, ["crew"], Selection(check_names=(check,)))
        assert found == {
            crew: counts
            for crew, *counts_ in rates.select("crew", "judged", "nonconforming").rows()
            for counts in [tuple(counts_)]
        }, check


# A band that was written wrongly: neither entry is judged by it any more.
def test_first_entries_are_judged_by_todays_setting_data(tmp_path: Path) -> None:
    store = revised_store(tmp_path, FIRST[:1], SECOND[:1])
    load(store, write_setting_data(tmp_path, [{"torque_low_nm": 35}]))
    [row] = first_rates(store, "setting_torque")
    assert (row["mended"], row["first_nonconforming"], row["nonconforming"]) == (
        0,
        0,
        0,
    )


# A wrench that was calibrated, in both entries: not what a revision changed.
def test_the_torque_tool_is_as_in_force(tmp_path: Path) -> None:
    rows = [{"record_id": "R1", "wrench_code": "W1"}]
    later = [{"record_id": "R1", "wrench_code": "W1", "note": "seen"}]
    store = revised_store(tmp_path, rows, later)
    calibrated = {
        "wrench_code": "W1",
        "calibrated_on": "2026-05-01",
        "range_low_nm": "20",
        "range_high_nm": "100",
    }
    load(store, write_csv(tmp_path / "wrench_calibrations.csv", [calibrated]))
    with store.reader() as con:
        revised = read_revised(con)
        tool = Selection(check_names=("torque_tool",))
        assert read_rates(con, [], tool)["judged"].to_list() == [1]
    for name in CHECK_NAMES:
        assert changed_records(revised, Selection(), name)["change"].to_list() == [None]


def test_without_a_revision_there_is_nothing(tmp_path: Path) -> None:
    store = revised_store(tmp_path, FIRST)
    assert first_rates(store, "any_check") == []
    with store.reader() as con:
        assert read_revised(con).height == 0
    with pytest.raises(FirmsetError, match="length"):
        changed_records(pl.DataFrame(), Selection(), "length")
