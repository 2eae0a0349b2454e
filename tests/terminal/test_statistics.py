"""`firmset trend` and its neighbours: names, words, errors of one line."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """13 weeks of 40 anchors of one crew, 4 nonconforming a week, 20 in the last."""
    rows: list[Row] = [
        {
            "installed_on": (
                date(2025, 9, 1) + timedelta(weeks=week, days=number % 5)
            ).isoformat(),
            "setting_torque_nm": "75" if number < (20 if week == 12 else 4) else "55",
        }
        for week in range(13)
        for number in range(40)
    ]
    return build_store(tmp_path, rows)


def run(store: Store, *arguments: str) -> int:
    return main([*arguments, "--store", str(store.folder)])


# The names that other people's scripts rely on.
POINT_NAMES = [
    "period",
    "judged",
    "nonconforming",
    "rate",
    "lower",
    "upper",
    "signals",
]


def test_trend_json(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--check", "setting_torque", "--by", "week", "--format", "json"]
    assert run(store, "trend", *options) == 0
    found = json.loads(capsys.readouterr().out)
    assert {"centre", "baseline", "method", "sigma_z", "points"} <= set(found)
    assert list(found["points"][0]) == POINT_NAMES
    assert found["centre"] == pytest.approx(0.1)
    assert found["baseline"]["from"] == "2025-W36"
    assert found["baseline"]["to"] == "2025-W47"
    assert "first 12 periods" in found["baseline"]["chosen"]
    last = found["points"][-1]
    assert (last["period"], last["nonconforming"]) == ("2025-W48", 20)
    assert "beyond_upper" in last["signals"]


def test_trend_table_says_method_baseline_and_false_alarms(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    run(store, "trend", "--check", "setting_torque", "--by", "month")
    said = capsys.readouterr().out
    assert "Method: p chart" in said
    assert "Baseline: 2025-09 to 2025-11, 3 periods" in said
    assert "one false alarm in about" in said
    assert "No signal is not clearance." in said
    assert "10.00 %" in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ([], "expected one check"),
        (["--check", "setting_torque,hole_depth"], "expected one check"),
        (["--check", "colour"], "unknown check 'colour'"),
        (
            [
                *("--check", "setting_torque", "--baseline-from", "2025-10-01"),
                *("--baseline-to", "2025-09-01"),
            ],
            "--baseline-from 2025-10-01 lies after --baseline-to 2025-09-01",
        ),
    ],
)
def test_trend_refuses_in_one_line(
    store: Store,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    words: str,
) -> None:
    assert run(store, "trend", *options) == 2
    error = capsys.readouterr().err
    assert words in error
    assert error.count("\n") == 1
