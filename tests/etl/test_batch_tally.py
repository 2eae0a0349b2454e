"""The kept counts of batches follow the rows: only what a load touched, and in time.

That they equal a count of all rows after loads in any order, and after taking back, is
in test_order.py by the proofs of queries/kept_counts.py.
"""

from datetime import date
from pathlib import Path

import duckdb
import pytest

from etl import intake
from etl.ledger import open_ledger
from etl.lock import hold_store
from queries.batch_parts import batch_parts
from queries.proof import all_proofs, read_faults
from queries.store import Store
from tests.builders import (
    Row,
    build_store,
    load,
    load_calibrations,
    write_log,
    write_setting_data,
)


def crew_days(*rows: tuple[str, int]) -> list[Row]:
    """Return rows of crews on days of May, each record numbered by its place."""
    return [
        {"crew_code": crew, "installed_on": f"2026-05-{day:02d}"} for crew, day in rows
    ]


def outside(store: Store) -> dict[tuple[str, date], tuple[int, int]]:
    """Return, by crew and day, how many torques there are and lie outside."""
    with store.reader() as con:
        assert read_faults(con, all_proofs()).to_dicts() == []
        found = con.execute(
            "select crew_code, installed_on, sum(torques), sum(outside) "
            "from batch_tally group by all"
        ).fetchall()
    return {(crew, day): (torques, out) for crew, day, torques, out in found}


MAY_4, MAY_5 = date(2026, 5, 4), date(2026, 5, 5)


# The band of the default anchor is 49.5 to 60.5 Nm; of 80 Nm it is 72 to 88.
def test_the_counts_follow_the_torque_band_of_new_setting_data(tmp_path: Path) -> None:
    rows = crew_days(("A", 4), ("A", 4), ("B", 5))
    store = build_store(tmp_path, [{**row, "setting_torque_nm": "55"} for row in rows])
    assert outside(store) == {("A", MAY_4): (2, 0), ("B", MAY_5): (1, 0)}
    load(store, write_setting_data(tmp_path, [{"setting_torque_nm": 80}]))
    assert outside(store) == {("A", MAY_4): (2, 2), ("B", MAY_5): (1, 1)}


def test_a_revision_to_another_day_leaves_its_old_batch(tmp_path: Path) -> None:
    store = build_store(tmp_path, crew_days(("A", 4), ("B", 5)))
    moved = {"record_id": "R1", "revision": "1", "installed_on": "2026-05-05"}
    load(store, write_log(tmp_path, [{**moved, "crew_code": "A"}], name="later"))
    assert outside(store).keys() == {("A", MAY_5), ("B", MAY_5)}


def test_the_counts_take_the_preferred_spelling_of_a_crew(tmp_path: Path) -> None:
    store = build_store(tmp_path, crew_days(("C7", 4)))
    other = {"record_id": "X", **crew_days(("C-07", 5))[0]}
    load(store, write_log(tmp_path, [other], name="later"))
    assert outside(store).keys() == {("C-07", MAY_4), ("C-07", MAY_5)}


# The ledger is what a load leaves that is killed after its commit.
def test_a_load_killed_before_it_counted_is_counted_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path, crew_days(("A", 4)))

    def killed(*_: object, **__: object) -> int:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch, pytest.raises(KeyboardInterrupt):
        patch.setattr(intake, "seal_edition", killed)
        row = {"record_id": "X", **crew_days(("B", 5))[0]}
        load(store, write_log(tmp_path, [row], name="later"))
    with hold_store(store, 0), open_ledger(store) as con:
        waiting = con.execute("select crew_code from stale_batch").fetchall()
    assert waiting == [("B",)]
    load(store, write_log(tmp_path, [{"record_id": "Y"}], name="last"))
    assert {("A", MAY_4), ("B", MAY_5)} <= outside(store).keys()


def counted_batches(
    store: Store, path: Path, monkeypatch: pytest.MonkeyPatch
) -> set[tuple[str, str]]:
    """Load a file; return crew and day of the batches that waited to be counted."""
    waiting: set[tuple[str, str]] = set()
    seal = intake.seal_edition

    def sealing(con: duckdb.DuckDBPyConnection, *args: object, **named: object) -> int:
        waiting.update(
            con.execute(
                "select crew_code, installed_on::varchar from stale_batch"
            ).fetchall()
        )
        return seal(con, *args, **named)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(intake, "seal_edition", sealing)
        load(store, path)
    return waiting


def test_only_batches_with_a_row_that_came_or_went_are_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path, crew_days(("A", 4), ("A", 5), ("B", 4), ("C", 4)))
    changed = [
        {"record_id": "R1", "revision": "1", **crew_days(("A", 6))[0]},
        {"record_id": "NEW", **crew_days(("B", 4))[0]},
        # Said again: nothing changes.
        {"record_id": "R4", **crew_days(("C", 4))[0]},
    ]
    path = write_log(tmp_path, changed, name="later")
    assert counted_batches(store, path, monkeypatch) == {
        ("A", "2026-05-04"),
        ("A", "2026-05-06"),
        ("B", "2026-05-04"),
    }


# A verdict on the tool moves no torque and no time.
def test_verdicts_that_change_alone_have_nothing_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    used = {"wrench_code": "W1", "setting_torque_nm": "55"}
    store = build_store(tmp_path, [{**row, **used} for row in crew_days(("A", 6))])
    calibration = {
        "wrench_code": "W1",
        "calibrated_on": "2026-01-01",
        "range_low_nm": "20",
        "range_high_nm": "120",
        "valid_cycles": "1",
    }
    load_calibrations(store, [calibration])
    row = {"record_id": "X", **used, **crew_days(("B", 5))[0]}
    path = write_log(tmp_path, [row], name="later")
    # With a use before it, that of crew A is the second, one too many.
    assert counted_batches(store, path, monkeypatch) == {("B", "2026-05-05")}
    with store.reader() as con:
        found = con.execute(
            "select crew_code from tally where torque_tool_nonconforming = 1"
        )
        assert found.fetchall() == [("A",)]


def test_parts_hold_every_batch_once_in_order_of_days(tmp_path: Path) -> None:
    days = [("A", 5)] * 3 + [("B", 4)] * 2 + [("C", 5), ("A", 7)] + [("B", 6)] * 4
    store = build_store(tmp_path, crew_days(*days))
    with store.reader() as con:
        parts = batch_parts(con, at_once=4)
        keys = con.execute(
            "select distinct hash(site_code, crew_code, installed_on) from tally"
        ).fetchall()
    shown = [(part.from_on.day, part.to_on.day, len(part.batch_keys)) for part in parts]
    # 2 of the 4th with 1 of the 5th or 3, never over 4; the 6th fills a part alone.
    assert [days[:2] for days in shown][-2:] == [(6, 6), (7, 7)]
    assert sum(size for *_, size in shown) == len(keys) == 5
    assert {key for part in parts for key in part.batch_keys} == {k for (k,) in keys}


def test_a_batch_larger_than_a_part_is_not_divided(tmp_path: Path) -> None:
    store = build_store(tmp_path, crew_days(*[("A", 4)] * 5, ("B", 4)))
    with store.reader() as con:
        parts = batch_parts(con, at_once=2)
    assert [len(part.batch_keys) for part in parts] == [1, 1]


# Five readings, one beside every step, and a blank.
def test_readings_are_counted_on_the_steps_they_keep_to(tmp_path: Path) -> None:
    torques = ["50", "55", "52.5", "54.2", "51.337", ""]
    store = build_store(
        tmp_path,
        [{**crew_days(("A", 4))[0], "setting_torque_nm": one} for one in torques],
    )
    with store.reader() as con:
        [(readings, on_step)] = con.execute(
            "select torques, on_step from batch_tally"
        ).fetchall()
        steps = con.execute(
            "select step_nm from reading_step order by place"
        ).fetchall()
    assert readings == 5
    on = dict(zip([step for (step,) in steps], on_step, strict=True))
    # By hand: 50 is on 50, 10, 5, 2, 1, 0.5 ...; 55 on 5, 1, 0.5; 52.5 on 0.5; 54.2
    # on 0.2 and 0.1; 51.337 on none.
    assert on == {
        100: 0, 50: 1, 20: 0, 10: 1, 5: 2, 2: 1, 1: 2, 0.5: 3, 0.2: 3, 0.1: 4,
        0.05: 4, 0.02: 4, 0.01: 4,
    }  # fmt: skip


def test_the_tens_of_every_step_of_a_gauge_are_steps_too(tmp_path: Path) -> None:
    with build_store(tmp_path).reader() as con:
        missing = con.execute(
            """
            select step_nm from reading_step
            where step_nm <= 10 and step_nm * 10 not in (
                select step_nm from reading_step
            )
            """
        ).fetchall()
    assert missing == []
