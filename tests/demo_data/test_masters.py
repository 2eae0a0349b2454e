"""The demo's master data: what was planted, and every code the logs speak of."""

from datetime import date, timedelta

import polars as pl
import pytest

from demo_data.generator import Demo, generate
from demo_data.masters import wrench_calibrations, write_masters
from demo_data.planned import planned_holes
from demo_data.setting import SETTING_DATA_PATH
from demo_data.sites import FIRST_ON, LAST_ON
from etl.intake import load_paths
from queries.store import Store
from tests.demo_data.twin import within_chance

SHEETS = ("crews", "trainings", "wrench_calibrations", "planned_holes", "inspectors")


@pytest.fixture(scope="module")
def small() -> Demo:
    """Return a small demo."""
    return generate(3_000, seed=5)


@pytest.fixture(scope="module")
def store(small: Demo, tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Return a store that holds the demo's master data and nothing else."""
    folder = tmp_path_factory.mktemp("masters")
    write_masters(small.installations, folder)
    store = Store(folder / "store")
    sheets = [folder / f"{name}.csv" for name in SHEETS]
    result = load_paths(store, [SETTING_DATA_PATH, *sheets])
    assert result.failures == ()
    for receipt in result.receipts:
        assert (receipt.loaded, receipt.remarks) == (receipt.rows_read, [])
    return store


def test_trainings_are_the_planted_ones(store: Store) -> None:
    # Origin: demo_data/README.md, the lines of DRUMLIN and EMBER.
    with store.reader() as con:
        held = con.execute(
            "select crew_code, topic, trained_on from training order by all"
        ).fetchall()
    assert held == [
        ("C17", "setting_torque", date(2026, 1, 19)),
        ("C24", "edge_distance", date(2026, 2, 16)),
    ]


def test_the_codes_are_those_of_the_logs(store: Store, small: Demo) -> None:
    columns = {
        "crew": "crew_code",
        "inspector": "inspector_code",
        "wrench_calibration": "wrench_code",
    }
    for table, column in columns.items():
        with store.reader() as con:
            held = con.execute(f"select distinct {column} from {table}").fetchall()
        logged = small.installations[column].drop_nulls().unique()
        assert set(logged) == {code for (code,) in held}, table


def test_an_inspector_of_one_site_has_it_and_others_have_none(store: Store) -> None:
    # Origin: demo_data/README.md: I07 and I08 are FALLOW's; the others go round.
    with store.reader() as con:
        held = con.execute(
            "select inspector_code from inspector where site_code = 'FALLOW'"
        ).fetchall()
        elsewhere = con.execute(
            "select count(*) from inspector where site_code != 'FALLOW'"
        ).fetchall()
    assert sorted(held) == [("I07",), ("I08",)]
    assert elsewhere == [(0,)]


def test_every_other_wrench_is_calibrated_on_every_day() -> None:
    days = (
        wrench_calibrations()
        # Planted: this one's year ends within the demo.
        .filter(pl.col("wrench_code") != "WC532")
        .sort("calibrated_on")
        .group_by("wrench_code")
        .agg("calibrated_on")["calibrated_on"]
    )
    for calibrated in days:
        assert calibrated.min() <= FIRST_ON
        # 365 days is 12 months at the shortest.
        gaps = calibrated.diff().drop_nulls()
        assert gaps.max() <= timedelta(days=365)
        assert calibrated.max() + timedelta(days=365) >= LAST_ON


def test_one_wrench_was_found_out_and_the_first_certificates_tell_nothing() -> None:
    # Origin: demo_data/README.md, the line of BRINE's C06.
    held = (
        wrench_calibrations().group_by("as_found").agg("wrench_code", "calibrated_on")
    )
    told = {found: codes for found, codes, _ in held.iter_rows()}
    days = {found: set(days) for found, _, days in held.iter_rows()}
    assert told["out"] == ["WC062"]
    assert days["out"] == {date(2026, 3, 27)}
    assert days[None] == {date(2025, 4, 11)}
    # 120 wrenches, of which one is not calibrated again.
    assert len(told["in"]) == 120 - 2
    assert told.keys() == {"out", "in", None}


def test_the_plan_carries_on_with_the_last_weeks(store: Store, small: Demo) -> None:
    first_on = LAST_ON - timedelta(weeks=6)
    recent = small.installations.filter(pl.col("installed_on") > first_on)
    with store.reader() as con:
        held = con.execute(
            "select sum(hole_count)::integer, min(planned_from_on) from planned_hole "
            "where crew_code is not null"
        ).fetchall()
    assert recent.height > 0
    assert held == [(recent.height, LAST_ON + timedelta(days=1))]


def test_of_past_plans_as_much_is_not_logged_as_was_planted(demo: Demo) -> None:
    # Origin: demo_data/README.md, the line of HOLLOW and what is said of the plans.
    planned = planned_holes(demo.installations).filter(pl.col("crew_code").is_null())
    assert planned["planned_to_on"].max() == LAST_ON
    first_on = planned["planned_from_on"].min()
    assert first_on == LAST_ON - timedelta(weeks=24) + timedelta(days=1)
    logged = demo.installations.filter(
        pl.col("installed_on") >= first_on, pl.col("outcome") != "abandoned"
    )
    holes = dict(planned.group_by("site_code").agg(pl.sum("hole_count")).iter_rows())
    anchors = dict(logged.group_by("site_code").len().iter_rows())
    assert holes.keys() == anchors.keys()
    for site, planted in (dict.fromkeys(holes, 0.02) | {"HOLLOW": 0.15}).items():
        assert within_chance(holes[site] - anchors[site], holes[site], planted), site
