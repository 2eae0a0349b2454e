"""Anchors set with a wrench that its next calibration found out of tolerance.

The wrench W-7 of these tests is calibrated on 10 May and 10 June 2026 and found out by
the second: the days from 10 May to 9 June are those that nobody knows the torque of.
"""

from datetime import date
from itertools import permutations
from pathlib import Path

import polars as pl
import pytest

from etl.unload import unload
from queries.readers.found_out import found_out_by_wrench, read_found_out
from queries.selection import Selection
from queries.store import Store
from tests.builders import (
    NOW,
    Row,
    build_store,
    load,
    load_calibrations,
    write_csv,
    write_log,
)

RANGE: Row = {"range_low_nm": "20", "range_high_nm": "120"}
MAY: Row = RANGE | {"wrench_code": "W-7", "calibrated_on": "2026-05-10"}
JUNE: Row = RANGE | {"wrench_code": "w-7", "calibrated_on": "2026-06-10"}
FOUND: Row = JUNE | {"as_found": "out"}


def set_on(*days: str, wrench: str = "W-7", **more: object) -> list[Row]:
    return [{"wrench_code": wrench, "installed_on": day} | more for day in days]


def found(store: Store) -> list[tuple[object, ...]]:
    """Return days as text, site, crew, anchors and of these the conforming ones."""
    with store.reader() as con:
        rows = read_found_out(con)
    summed = rows.group_by(
        "calibrated_on", "found_on", "site_code", "crew_code", maintain_order=True
    ).agg(pl.col("anchors", "conforming").sum())
    return [(str(before), str(on), *rest) for before, on, *rest in summed.iter_rows()]


def test_the_days_from_one_calibration_to_the_day_before_the_next(
    tmp_path: Path,
) -> None:
    rows = [
        *set_on("2026-05-09"),  # Too early.
        *set_on("2026-05-10", "2026-06-09"),
        *set_on("2026-06-10"),  # Adjusted by then.
        *set_on("2026-05-20", setting_torque_nm="20"),  # Out of the band: 49.5 to 60.5.
        *set_on("2026-05-20", setting_torque_nm=""),
        *set_on("2026-05-20", outcome="abandoned"),  # No anchor.
        *set_on("2026-05-20", wrench="W-8"),
        *set_on("2026-05-20", crew_code="CREW-2"),
    ]
    store = build_store(tmp_path, rows, calibrations=[MAY, FOUND])
    assert found(store) == [
        ("2026-05-10", "2026-06-10", "SITE-1", "CREW-1", 4, 2),
        ("2026-05-10", "2026-06-10", "SITE-1", "CREW-2", 1, 1),
    ]


@pytest.mark.parametrize("as_found", ["in", ""])
def test_found_in_tolerance_or_not_told_there_is_nothing_to_say(
    tmp_path: Path, as_found: str
) -> None:
    records = [MAY | {"as_found": "in"}, JUNE | {"as_found": as_found}]
    store = build_store(tmp_path, set_on("2026-05-20"), calibrations=records)
    assert found(store) == []


def test_without_a_calibration_before_it_is_every_day_before(tmp_path: Path) -> None:
    rows = set_on("2020-01-02", "2026-06-09", "2026-06-10")
    store = build_store(tmp_path, rows, calibrations=[FOUND])
    assert found(store) == [("None", "2026-06-10", "SITE-1", "CREW-1", 2, 2)]


def test_each_calibration_speaks_of_the_time_since_the_one_before(
    tmp_path: Path,
) -> None:
    july = FOUND | {"calibrated_on": "2026-07-10"}
    rows = set_on("2026-05-20", "2026-06-20", "2026-06-21", "2026-07-10")
    store = build_store(tmp_path, rows, calibrations=[MAY, FOUND, july])
    assert found(store) == [
        ("2026-06-10", "2026-07-10", "SITE-1", "CREW-1", 2, 2),
        ("2026-05-10", "2026-06-10", "SITE-1", "CREW-1", 1, 1),
    ]


PARTS = ("log", "may", "june")


@pytest.mark.parametrize("order", list(permutations(PARTS)), ids="-".join)
def test_the_order_of_loading_does_not_matter(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    store = build_store(tmp_path)
    for part in order:
        if part == "log":
            load(store, write_log(tmp_path / part, set_on("2026-05-20", wrench="w-7")))
        else:
            load_calibrations(store, [MAY if part == "may" else FOUND])
    assert found(store) == [("2026-05-10", "2026-06-10", "SITE-1", "CREW-1", 1, 1)]


def test_a_certificate_that_comes_later_and_is_taken_back(tmp_path: Path) -> None:
    store = build_store(tmp_path, set_on("2026-05-20"), calibrations=[MAY, JUNE])
    with store.reader() as con:
        before = con.execute("from tally").fetchall()
    [receipt] = load_calibrations(store, [FOUND]).receipts
    assert (receipt.loaded, receipt.revised) == (0, 1)
    assert receipt.remarks == ["1 installation judged again, 0 verdicts changed"]
    assert len(found(store)) == 1
    with store.reader() as con:
        assert con.execute("from tally").fetchall() == before
    unload(store, receipt.source_file_id, now=NOW)
    assert found(store) == []


def test_a_calibration_between_that_comes_later_ends_the_days(tmp_path: Path) -> None:
    rows = set_on("2026-05-20", "2026-05-25", "2026-06-01")
    store = build_store(tmp_path, rows, calibrations=[MAY, FOUND])
    between = MAY | {"calibrated_on": "2026-05-25"}
    [receipt] = load_calibrations(store, [between]).receipts
    assert found(store) == [("2026-05-25", "2026-06-10", "SITE-1", "CREW-1", 2, 2)]
    unload(store, receipt.source_file_id, now=NOW)
    assert found(store) == [("2026-05-10", "2026-06-10", "SITE-1", "CREW-1", 3, 3)]


def test_a_revision_says_that_it_was_another_wrench(tmp_path: Path) -> None:
    rows = set_on("2026-05-20", "2026-05-21")
    store = build_store(tmp_path, rows, calibrations=[MAY, FOUND])
    corrected = set_on("2026-05-20", wrench="W-8", revision="1")
    load(store, write_log(tmp_path / "second", corrected, name="second"))
    assert found(store) == [("2026-05-10", "2026-06-10", "SITE-1", "CREW-1", 1, 1)]


@pytest.fixture
def shared(tmp_path: Path) -> Store:
    """W-7 goes from one site to another; at each another crew has it."""
    sites = {
        "NORTH": set_on("2026-05-20", "2026-05-21", crew_code="C1"),
        "SOUTH": [
            *set_on("2026-06-01", wrench="w-7", crew_code="C2"),
            *set_on("2026-06-01", crew_code="C3", setting_torque_nm="20"),
        ],
    }
    return build_store(tmp_path, sites=sites, calibrations=[MAY, FOUND])


@pytest.mark.parametrize(
    ("selection", "expected"),
    [
        (Selection(), [(["NORTH", "SOUTH"], ["C1", "C2", "C3"], 4, 3)]),
        (Selection(site_codes=("SOUTH",)), [(["SOUTH"], ["C2", "C3"], 2, 1)]),
        (
            Selection(site_codes=("NORTH", "SOUTH"), crew_codes=("C2",)),
            [(["SOUTH"], ["C2"], 1, 1)],
        ),
        (Selection(site_codes=("NORTH",), crew_codes=("C2",)), []),
        (Selection(from_on=date(2026, 6, 1)), [(["SOUTH"], ["C2", "C3"], 2, 1)]),
        (
            Selection(to_on=date(2026, 6, 1)),
            [(["NORTH", "SOUTH"], ["C1", "C2", "C3"], 4, 3)],
        ),
        (Selection(to_on=date(2026, 5, 31)), [(["NORTH"], ["C1"], 2, 2)]),
        (
            Selection(anchor_sizes=("M12",)),
            [(["NORTH", "SOUTH"], ["C1", "C2", "C3"], 4, 3)],
        ),
        (Selection(anchor_sizes=("M16",)), []),
    ],
)
def test_two_sites_share_a_wrench(
    shared: Store, selection: Selection, expected: list[tuple[object, ...]]
) -> None:
    with shared.reader() as con:
        rows = found_out_by_wrench(read_found_out(con), selection)
    shown = rows.select("site_codes", "crew_codes", "anchors", "conforming")
    assert shown.rows() == expected


def test_anchors_that_were_checked_again_since_are_counted(tmp_path: Path) -> None:
    # A torque found on the day of the calibration is one found since, by the site's
    # clock (Lisbon: 23:30 UTC is half past midnight); one found before tells nothing.
    checked = [
        {"recheck_torque_nm": "50", "recheck_at": at}
        for at in ("2026-06-09T23:30Z", "2026-06-09T21:30Z", "2026-07-01T10:00Z")
    ]
    rows = [set_on("2026-05-20", **each)[0] for each in checked]
    store = build_store(
        tmp_path, [*rows, *set_on("2026-05-20", recheck_torque_nm="50")]
    )
    load_calibrations(store, [MAY, FOUND])
    with store.reader() as con:
        [row] = found_out_by_wrench(read_found_out(con), Selection()).to_dicts()
    assert (row["anchors"], row["rechecked"]) == (4, 2)


def test_where_all_were_checked_again_nothing_is_left_to_say(tmp_path: Path) -> None:
    again = {"recheck_torque_nm": "50", "recheck_at": "2026-06-12T10:00Z"}
    rows = set_on("2026-05-20", "2026-05-21", **again)
    store = build_store(tmp_path, rows, calibrations=[MAY, FOUND])
    with store.reader() as con:
        assert found_out_by_wrench(read_found_out(con), Selection()).is_empty()


def test_a_sheet_with_the_wrench_spelled_otherwise_is_of_the_same(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path, set_on("2026-05-20"))
    sheet = [each | {"wrench_code": "w 7"} for each in (MAY, FOUND)]
    load(store, write_csv(tmp_path / "wrench_calibrations.csv", sheet))
    assert len(found(store)) == 1
