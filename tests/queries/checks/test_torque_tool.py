"""The torque tool: the calibration's last day, its last use, its range, in any order.

12 months or 5,000 uses where the calibration's record says nothing else (ISO 6789, from
memory).
"""

from itertools import permutations
from pathlib import Path

import polars as pl
import pytest

from etl.ledger import open_ledger
from etl.unload import unload
from queries.proof import all_proofs, read_faults
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.store import Store
from tests.builders import (
    NOW,
    build_store,
    load,
    load_calibrations,
    write_log,
    write_setting_data,
)
from tests.ledger import ledger_content

RANGE = {"range_low_nm": "20", "range_high_nm": "120"}
Row = dict[str, object]


def used(*days: str, wrench: str = "W1", **more: object) -> list[Row]:
    return [{"wrench_code": wrench, "installed_on": day} | more for day in days]


def verdicts(store: Store) -> list[tuple[str, float | None, str | None]]:
    """Return verdict, margin and direction of each record, in order."""
    with store.reader() as con:
        return con.execute(
            "select verdict, margin, direction from installation_verdict "
            "where check_name = 'torque_tool' order by record_id"
        ).fetchall()


def judged_with(
    tmp_path: Path, rows: list[Row], *records: Row, **setting: object
) -> list[tuple[str, float | None, str | None]]:
    """Load a log into a store that knows these calibrations."""
    return verdicts(
        build_store(
            tmp_path,
            rows,
            settings=[setting],
            calibrations=[RANGE | record for record in records],
        )
    )


W1 = {"wrench_code": "W1", "calibrated_on": "2026-05-10"}


def test_the_day_of_calibration_and_its_last_one(tmp_path: Path) -> None:
    rows = used("2026-05-09", "2026-05-10", "2027-05-09", "2027-05-10", "2027-05-11")
    assert judged_with(tmp_path, rows, W1) == [
        ("unrecorded", None, None),
        ("conforming", 365, None),
        ("conforming", 1, None),
        ("conforming", 0, None),
        ("nonconforming", -1, "expired"),
    ]


def test_the_record_says_when_it_ends(tmp_path: Path) -> None:
    rows = used("2026-05-31", "2026-06-01")
    assert judged_with(tmp_path, rows, W1 | {"valid_to_on": "2026-05-31"}) == [
        ("conforming", 0, None),
        ("nonconforming", -1, "expired"),
    ]


@pytest.mark.parametrize(
    ("target", "verdict", "direction"),
    [
        ("20", "conforming", None),
        ("19.9", "nonconforming", "out of range"),
        ("120", "conforming", None),
        ("120.1", "nonconforming", "out of range"),
    ],
)
def test_the_torque_required_lies_in_its_range(
    tmp_path: Path, target: str, verdict: str, direction: str | None
) -> None:
    rows = used("2026-05-10")
    [found] = judged_with(tmp_path, rows, W1, setting_torque_nm=target)
    assert (found[0], found[2]) == (verdict, direction)


def test_what_is_not_known_is_unrecorded(tmp_path: Path) -> None:
    rows = [
        *used("2026-05-10", wrench=""),
        *used("2026-05-10", wrench="W9"),
    ]
    found = judged_with(tmp_path, rows, W1)
    assert [verdict for verdict, _, _ in found] == ["unrecorded"] * 2


def test_the_last_use_conforms_and_the_next_does_not(tmp_path: Path) -> None:
    # Three uses allowed; a row without a torque is no use.
    rows = used("2026-05-10", "2026-05-11", "2026-05-12", "2026-05-13")
    rows[0]["setting_torque_nm"] = ""
    rows += used("2026-05-14", "2026-05-15")
    limited = W1 | {"valid_cycles": "3"}
    again = W1 | {"calibrated_on": "2026-05-15"}
    assert [v for v, _, _ in judged_with(tmp_path, rows, limited, again)] == [
        *("conforming", "conforming", "conforming", "conforming"),
        *("nonconforming", "conforming"),
    ]


def test_five_thousand_uses_where_the_record_says_nothing(tmp_path: Path) -> None:
    rows = used(*["2026-05-10"] * 5_001)
    for number, row in enumerate(rows):
        row["record_id"] = f"R{number:05d}"
    store = build_store(tmp_path, rows, calibrations=[RANGE | W1])
    with store.reader() as con:
        found = con.execute(
            "select record_id, direction from installation_verdict "
            "where check_name = 'torque_tool' and verdict = 'nonconforming'"
        ).fetchall()
    assert found == [("R05000", "too many uses")]


PARTS = ("may", "june", "sheet")


@pytest.mark.parametrize("order", list(permutations(PARTS)), ids="-".join)
def test_the_order_of_loading_does_not_matter(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    # Three uses in May and two in June; the fourth and fifth are too many.
    logs = {
        "may": [
            {"record_id": f"R{number}"} | row
            for number, row in enumerate(used(*["2026-05-12"] * 3), start=1)
        ],
        "june": [
            {"record_id": f"R{number}"} | row
            for number, row in enumerate(used(*["2026-06-12"] * 2), start=4)
        ],
    }
    store = build_store(tmp_path)
    for part in order:
        if part == "sheet":
            load_calibrations(store, [RANGE | W1 | {"valid_cycles": "3"}])
        else:
            load(store, write_log(tmp_path / part, logs[part], name=part))
    assert [verdict for verdict, _, _ in verdicts(store)] == [
        *["conforming"] * 3,
        *["nonconforming"] * 2,
    ]
    with store.reader() as con:
        rates = read_rates(con, [], Selection(check_names=("torque_tool",)))
    assert rates.select("judged", "nonconforming").row(0) == (5, 2)


def test_a_revision_gives_a_use_back(tmp_path: Path) -> None:
    rows = used("2026-05-10", "2026-05-11", "2026-05-12")
    store = build_store(
        tmp_path, rows, calibrations=[RANGE | W1 | {"valid_cycles": "2"}]
    )
    assert [v for v, _, _ in verdicts(store)][2] == "nonconforming"
    # The first was set with another wrench, a correction says.
    [corrected] = used("2026-05-10", wrench="W2", revision="1")
    load(store, write_log(tmp_path / "second", [corrected], name="second"))
    assert [v for v, _, _ in verdicts(store)] == [
        "unrecorded",
        "conforming",
        "conforming",
    ]


def test_changed_setting_data_keep_the_uses(tmp_path: Path) -> None:
    rows = used("2026-05-10", "2026-05-11")
    store = build_store(
        tmp_path, rows, calibrations=[RANGE | W1 | {"valid_cycles": "1"}]
    )
    load(store, write_setting_data(tmp_path / "logs", [{"hole_depth_mm": 91}]))
    assert [verdict for verdict, _, _ in verdicts(store)] == [
        "conforming",
        "nonconforming",
    ]


def is_proved(store: Store) -> bool:
    with store.reader() as con:
        return read_faults(con, all_proofs()).is_empty()


def test_a_sheet_after_the_log_is_taken_back(tmp_path: Path) -> None:
    store = build_store(tmp_path, used("2026-05-10", "2026-05-11"))
    before = ledger_content(store)
    assert [v for v, _, _ in verdicts(store)] == ["unrecorded"] * 2
    records = [RANGE | W1 | {"valid_cycles": "1"}]
    [receipt] = load_calibrations(store, records).receipts
    assert [v for v, _, _ in verdicts(store)] == ["conforming", "nonconforming"]
    # Two verdicts: one by day and range, one by the uses.
    assert receipt.remarks == ["2 installations judged again, 2 verdicts changed"]
    assert is_proved(store)
    unload(store, receipt.source_file_id, now=NOW)
    assert [v for v, _, _ in verdicts(store)] == ["unrecorded"] * 2
    assert ledger_content(store) == before


def test_a_log_taken_back_gives_its_uses_back(tmp_path: Path) -> None:
    # One use allowed: an earlier day, loaded later, makes this one the second.
    store = build_store(tmp_path, calibrations=[RANGE | W1 | {"valid_cycles": "1"}])
    load(store, write_log(tmp_path / "may", used("2026-05-12"), name="may"))
    before = ledger_content(store)
    assert [v for v, _, _ in verdicts(store)] == ["conforming"]
    [earlier] = used("2026-05-11", record_id="R2")
    path = write_log(tmp_path / "earlier", [earlier], name="earlier")
    [receipt] = load(store, path).receipts
    assert [v for v, _, _ in verdicts(store)] == ["nonconforming", "conforming"]
    assert is_proved(store)
    unload(store, receipt.source_file_id, now=NOW)
    assert ledger_content(store) == before
    assert is_proved(store)


def test_a_revision_taken_back_takes_its_use_again(tmp_path: Path) -> None:
    rows = used("2026-05-10", "2026-05-11")
    records = [RANGE | W1 | {"valid_cycles": "1"}]
    store = build_store(tmp_path, rows, calibrations=records)
    before = ledger_content(store)
    [corrected] = used("2026-05-10", wrench="W2", revision="1")
    path = write_log(tmp_path / "second", [corrected], name="second")
    [receipt] = load(store, path).receipts
    assert [v for v, _, _ in verdicts(store)] == ["unrecorded", "conforming"]
    assert is_proved(store)
    unload(store, receipt.source_file_id, now=NOW)
    assert ledger_content(store) == before
    assert is_proved(store)


def test_each_calibration_counts_its_own_uses(tmp_path: Path) -> None:
    # One use a calibration; the second file's row belongs to the later one only.
    limited = RANGE | W1 | {"valid_cycles": "1"}
    rows = used("2026-05-10", "2026-05-11", "2026-06-10")
    records = [limited, limited | {"calibrated_on": "2026-06-01"}]
    store = build_store(tmp_path, rows, calibrations=records)
    [earlier] = used("2026-06-09", record_id="R4")
    load(store, write_log(tmp_path / "second", [earlier], name="second"))
    assert [v for v, _, _ in verdicts(store)] == [
        *("conforming", "nonconforming"),
        *("nonconforming", "conforming"),
    ]
    assert is_proved(store)


# The bit of torque_tool is 2^12. R2 is the second use of one; R3 has no wrench.
@pytest.mark.parametrize("record_id", ["R1", "R2", "R3"])
def test_a_verdict_that_does_not_follow_is_found(
    tmp_path: Path, record_id: str
) -> None:
    rows = [*used("2026-05-10", "2026-05-11"), *used("2026-05-11", wrench="")]
    store = build_store(
        tmp_path, rows, calibrations=[RANGE | W1 | {"valid_cycles": "1"}]
    )
    with open_ledger(store) as con:
        con.execute(
            "update installation set unreadable_mask = xor(unreadable_mask, 4096) "
            "where record_id = ?",
            [record_id],
        )
        found = read_faults(con, all_proofs()).filter(
            pl.col("proof").str.contains("calibrations")
        )
    assert found["subject"].to_list() == [f"SITE-1 record {record_id}"]
