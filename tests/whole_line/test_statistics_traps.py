"""Where a naive dashboard is wrong: planted logs, and the words a reader gets.

Each case is of the project's list of traps; its figures come from there, or are counted
by hand beside it.
"""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from dashboard.app import route
from dashboard.command import main
from queries.edition_file import open_edition
from queries.readers.comparison import read_comparison
from queries.readers.rates import read_rates
from queries.readers.retraining import read_retraining
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv, write_log
from tests.dashboard.components import text

FIRST = date(2026, 5, 4)
# A value that makes each of eight checks nonconforming.
FAULTS: dict[str, tuple[str, str]] = {
    "setting_torque": ("setting_torque_nm", "75"),
    "hole_depth": ("hole_depth_mm", "60"),
    "hole_cleaning": ("brush_count", "0"),
    "edge_distance": ("edge_1_mm", "40"),
    "spacing": ("spacing_mm", "50"),
    "anchor_length": ("anchor_length_mm", "130"),
    "fixture_thickness": ("fixture_thickness_mm", "30"),
    "tilt": ("tilt_deg", "9"),
}


def said(
    capsys: pytest.CaptureFixture[str], store: Store, command: str, *options: str
) -> str:
    assert main([command, *options, "--store", str(store.folder)]) == 0
    return capsys.readouterr().out.replace("\xa0", " ")


def torque(bad: int, judged: int, days: int = 10, **same: object) -> list[Row]:
    """Return anchors with so many over the band, dealt evenly over the days."""
    return [
        {
            "installed_on": FIRST + timedelta(days=number % days),
            "setting_torque_nm": "75" if number < bad else "55",
            **same,
        }
        for number in range(judged)
    ]


# South 15.5 % against North 6.5 %, better in every size.
def test_simpson_s_pair(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def site(easy: tuple[int, int], hard: tuple[int, int]) -> list[Row]:
        return torque(*easy, setting_code="EASY") + torque(*hard, setting_code="HARD")

    store = build_store(
        tmp_path,
        settings=[
            {"setting_code": "EASY", "anchor_size": "M10"},
            {"setting_code": "HARD", "anchor_size": "M16"},
        ],
        sites={
            "NORTH": site((45, 900), (20, 100)),
            "SOUTH": site((3, 100), (90, 500)),
        },
    )
    words = said(capsys, store, "compare", "--check", "setting_torque")
    assert "No site is out of line for its mix" in words
    assert "SOUTH is not out of line: of the +9.0 points between it" in words
    assert "others its mix of work makes +11.0, its doing \N{MINUS SIGN}2.0" in words


# 16 % among 4 %: an overdispersion-adjusted z cannot flag it. 0 of 30 is not perfect.
def test_one_bad_site_among_few(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    logs: dict[str, Sequence[Row]] = {
        f"S{number}": torque(6, 150) for number in range(2)
    }
    logs |= {"BAD": torque(24, 150), "CLEAN": torque(0, 30)}
    store = build_store(tmp_path, sites=logs)
    words = said(capsys, store, "compare", "--check", "setting_torque")
    assert "mix of sizes, methods and orientations: BAD, 24 nonconforming" in words
    assert "CLEAN has 0 of 30, which leaves a true rate of up to 9.5 % open" in words
    page = text(route(store, "/sites", "")[0]).replace("\xa0", " ")
    assert "up to 9.5 % open" in page


# 15 of 20 on one day of one crew, and such a day of every other: plain limits flag the
# crew with two of them, by day it is as any other.
def test_faults_in_bad_days(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows: list[Row] = []
    for number in range(8):
        bad_days = (0, 3) if number == 0 else (number,)
        rows += [
            {
                "crew_code": f"C{number}",
                "installed_on": FIRST + timedelta(days=day),
                "setting_torque_nm": "75" if day in bad_days and anchor < 15 else "55",
            }
            for day in range(10)
            for anchor in range(20)
        ]
    store = build_store(tmp_path, rows)
    options = ("--by", "crew", "--check", "setting_torque")
    words = said(capsys, store, "compare", *options)
    assert "No crew is out of line" in words
    assert "come in bad days" in words
    # 30/200 beside 105/1400 taken as independent is p = 0.0009 (Fisher).
    assert "30  15.00 %" in words


@pytest.fixture(scope="module")
def noise(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """60 crews of 25 anchors, each nonconforming in each check with a chance of 8 %."""
    rng = np.random.default_rng(608)
    rows: list[Row] = []
    for crew in range(60):
        for number in range(25):
            row: dict[str, object] = {
                "crew_code": f"C{crew:02}",
                "installed_on": FIRST + timedelta(days=number),
                "tilt_deg": "1",
            }
            for column, bad in FAULTS.values():
                if rng.random() < 0.08:
                    row[column] = bad
            rows.append(row)
    return build_store(tmp_path_factory.mktemp("noise"), rows)


# 60 crews x 8 checks of pure noise: 22 alarms at two sigmas, about 1.3 at three.
def test_the_alarm_budget(noise: Store, capsys: pytest.CaptureFixture[str]) -> None:
    checks = ("--check", ",".join(FAULTS))
    words = said(capsys, noise, "retrain", "--budget", "6", *checks)
    assert "480 pairs of crew and check, those in whose like work" in words
    assert "put 21.8 or less of them two standard errors or more off, and 1.3" in words
    assert "The list keeps to a budget of 6." in words
    listed = [line for line in words.splitlines() if re.match(r"\d+\. Crew", line)]
    assert len(listed) == 6
    assert all("not clear of chance" in line for line in listed)


# Ranking by raw rate: the worst of identical crews is luck, and its place says so.
def test_the_worst_of_identical_crews_has_no_place(noise: Store) -> None:
    with noise.reader() as con:
        groups = read_comparison(con, "crew", "setting_torque", Selection()).groups
    worst = groups.sort("rate", descending=True).row(0, named=True)
    assert worst["rate"] > 0.16
    assert worst["eb_rate"] < 0.12
    assert worst["rank_high"] - worst["rank_low"] > 20
    assert not groups["flagged"].any()


# Retraining chosen by last month's worst: useless training shows a fall in raw rates.
def test_useless_training_of_the_worst(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = [2, 3, 4, 5, 6, 7, 8, 13]
    after = [5, 6, 5, 7, 4, 6, 5, 7]
    rows: list[Row] = []
    for start, counts in ((0, before), (28, after)):
        for crew, bad in enumerate(counts):
            rows += [
                row
                | {
                    "crew_code": f"C{crew}",
                    "installed_on": FIRST + timedelta(days=start + place % 20),
                }
                for place, row in enumerate(torque(bad, 60))
            ]
    store = build_store(tmp_path, rows)
    day = FIRST + timedelta(days=28)
    taught = [{"crew_code": "C7", "topic": "setting_torque", "trained_on": day}]
    assert not load(store, write_csv(tmp_path / "trainings.csv", taught)).failures
    words = said(capsys, store, "training", "--weeks", "4")
    # 13 of 60 before and 7 of 60 after: nearly halved.
    assert "13/60 nonconforming" in words
    assert "7/60 from the day" in words
    assert "No effect can be told from chance" in words


# Choosing whom to retrain: neither the small crew with the worst rate nor the one with
# most nonconforming anchors, but the one where most can be spared.
def test_choosing_crews(tmp_path: Path) -> None:
    rows = [
        *torque(2, 6, crew_code="SMALL"),
        *torque(18, 90, crew_code="BEST"),
        *torque(22, 400, crew_code="LARGE"),
    ]
    for number in range(12):
        rows += torque(2 + number % 3, 60, crew_code=f"C{number}")
    store = build_store(tmp_path, rows)
    with store.reader() as con:
        found = read_retraining(con, Selection(check_names=("setting_torque",)), 3)
    assert found.entries["crew"][0] == "BEST"


# 400 due, 220 judged, 11 nonconforming: not 2.75 %. And a late file changes last month:
# both answers stay, and the receipt says why.
def test_missing_answers_and_a_late_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing: list[Row] = [{"setting_torque_nm": ""} for _ in range(180)]
    store = build_store(tmp_path, [*torque(11, 220), *missing])
    rates = ("--by", "month", "--check", "setting_torque")
    before = said(capsys, store, "rates", *rates)
    assert "5.00 %" in before
    assert "2.75 %" in before
    assert "47.75 %" in before
    late = write_log(
        tmp_path / "late",
        [row | {"record_id": f"L{n}"} for n, row in enumerate(torque(9, 20))],
        name="late",
    )
    assert not load(store, late).failures
    # 20 of 240.
    assert "8.33 %" in said(capsys, store, "rates", *rates)
    first, second = store.edition_ids()
    old = open_edition(store.edition_path(first))
    [row] = read_rates(
        old, ["month"], Selection(check_names=("setting_torque",))
    ).to_dicts()
    old.close()
    assert (row["month"], row["nonconforming"], row["judged"]) == ("2026-05", 11, 220)
    assert f"Edition {second}" in route(store, "/sites", "")[2]
    assert late.name in said(capsys, store, "receipts")
