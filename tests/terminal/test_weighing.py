"""`firmset trend` and its neighbours: names, words, errors of one line."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.address import View
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
    # September: four weeks of 4/40, and Monday and Tuesday of a fifth with 2/16.
    assert "10.23 %" in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ([], "--check: expected one check of anchor_length, "),
        (
            ["--check", "setting_torque,hole_depth"],
            "--check setting_torque,hole_depth: expected one check of ",
        ),
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


# The names of design that other people's scripts rely on, then further ones.
COMPARE_NAMES = [
    *("group", "judged", "nonconforming", "rate", "low", "high", "expected", "ratio"),
    *("others_rate", "p_value", "q_value", "flagged", "eb_rate", "rank_low"),
    *("rank_high", "mix_part", "performance_part", "detectable_rate"),
]


@pytest.fixture
def simpson(tmp_path: Path) -> Store:
    """NORTH 13/200 and SOUTH 31/200: SOUTH is better in both sizes, over ten days."""

    def rows(size: str, judged: int, bad: int) -> list[Row]:
        return [
            {
                "setting_code": size,
                "installed_on": (date(2026, 5, 4) + timedelta(days=number % 10)),
                "setting_torque_nm": "75" if number < bad else "55",
            }
            for number in range(judged)
        ]

    settings: list[Row] = [
        {"setting_code": "EASY", "anchor_size": "M10"},
        {"setting_code": "HARD", "anchor_size": "M16"},
    ]
    # NORTH: 5 % of 180 easy, 20 % of 20 hard; SOUTH: 3 % of 33, 18 % of 167.
    return build_store(
        tmp_path,
        settings=settings,
        sites={
            "NORTH": [*rows("EASY", 180, 9), *rows("HARD", 20, 4)],
            "SOUTH": [*rows("EASY", 33, 1), *rows("HARD", 167, 30)],
        },
    )


def test_compare_json(simpson: Store, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--by", "site", "--check", "setting_torque", "--format", "json"]
    assert run(simpson, "compare", *options) == 0
    north, south = json.loads(capsys.readouterr().out)
    assert list(north)[: len(COMPARE_NAMES)][:6] == COMPARE_NAMES[:6]
    assert set(COMPARE_NAMES) <= set(north)
    assert (south["group"], south["nonconforming"], south["judged"]) == (
        "SOUTH",
        31,
        200,
    )
    # At NORTH's rates: 33 x 9/180 + 167 x 4/20 = 1.65 + 33.4.
    assert south["expected"] == pytest.approx(35.05)
    assert south["ratio"] == pytest.approx(31 / 35.05)
    assert south["others_rate"] == pytest.approx(13 / 200)
    assert not south["flagged"]
    assert south["performance_part"] < 0 < south["mix_part"]
    assert south["mix_part"] + south["performance_part"] == pytest.approx(18 / 200)


def test_compare_says_what_the_mix_makes(
    simpson: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    run(simpson, "compare", "--check", "setting_torque")
    said = capsys.readouterr().out
    assert "No site is out of line for its mix" in said
    assert "That is no clearance" in said
    # By hand: shares 0.9/0.1 and 0.165/0.835, rates 5/20 % and 1/33, 30/167.
    mix = 0.735 * (0.2 + 30 / 167 - 0.05 - 1 / 33) / 2
    assert f"others its mix of work makes +{100 * mix:.1f}" in said


def test_compare_filters_what_is_shown_not_what_is_compared(
    simpson: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--check", "setting_torque", "--site", "SOUTH", "--format", "csv"]
    run(simpson, "compare", *options)
    head, line = capsys.readouterr().out.splitlines()
    assert head.split(",")[:6] == COMPARE_NAMES[:6]
    assert line.startswith("SOUTH,200,31,")
    assert run(simpson, "compare", "--check", "setting_torque,tilt") == 2


def test_retrain_json_and_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": (date(2026, 5, 4) + timedelta(days=number % 20)),
            "setting_torque_nm": "30" if number < bad else "55",
        }
        for crew, bad in (("A", 30), ("B", 2), ("C", 1), ("D", 3))
        for number in range(100)
    ]
    store = build_store(tmp_path, rows)
    assert run(store, "retrain", "--budget", "1", "--format", "json") == 0
    [entry] = json.loads(capsys.readouterr().out)
    assert (entry["crew"], entry["check"]) == ("A", "setting_torque")
    assert (entry["planned"], entry["direction"]) == (100, "under")
    assert entry["sentence"].startswith(
        "Crew A (Invented site SITE-1), setting torque: 30/100"
    )
    assert run(store, "retrain", "--check", "setting_torque") == 0
    said = capsys.readouterr().out
    first = (
        "1. Crew A (Invented site SITE-1), setting torque: 30/100 nonconforming, all"
    )
    assert said.startswith(f"{first} under")
    # As the page's, where nobody says otherwise.
    assert f"budget of {View().budget}" in said
    with pytest.raises(SystemExit) as refused:
        run(store, "retrain", "--budget", "0")
    assert refused.value.code == 2


def test_calibrate_says_how_often_a_flag_is_false(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--by", "crew", "--check", "setting_torque", "--shuffles", "5"]
    assert run(store, "calibrate", *options, "--format", "json") == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["shuffles"], found["seed"]) == (5, 1)
    # One crew has nobody to be compared with.
    assert (found["any_share"], found["flags"], found["any_naive"]) == (0, 0, 0)
    run(store, "calibrate", *options)
    assert "dealt out again 5 times (seed 1)" in capsys.readouterr().out
    nothing = ["--check", "setting_torque", "--from", "2030-01-01"]
    assert run(store, "calibrate", *nothing) == 2
    assert "nothing to shuffle" in capsys.readouterr().err


def test_compare_under_the_same_inspector(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # S finds 12 of 60, L 3 of 60, whoever the crew; crew D has an inspector of its own.
    seen = [
        ("A", "S", 12),
        ("A", "L", 3),
        ("B", "S", 12),
        ("B", "L", 3),
        ("D", "X", 12),
    ]
    rows: list[Row] = [
        {
            "crew_code": crew,
            "inspector_code": inspector,
            "installed_on": (date(2026, 5, 4) + timedelta(days=number % 10)),
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for crew, inspector, bad in seen
        for number in range(60)
    ]
    store = build_store(tmp_path, rows)
    options = ["--by", "crew", "--check", "setting_torque", "--same-inspector"]
    run(store, "compare", *options, "--format", "json")
    a, b, d = json.loads(capsys.readouterr().out)
    # 60 x 12/60 + 60 x 3/60.
    assert (a["expected"], b["expected"]) == (pytest.approx(15), pytest.approx(15))
    assert (d["expected"], d["p_value"], d["silent_judged"]) == (None, None, 60)
    run(store, "compare", *options)
    said = capsys.readouterr().out
    assert "Nothing compares with D" in said
    assert "cannot be told apart from its inspectors" in said
    assert "--same-inspector does" not in said
    assert "its mix of work makes" not in said
    run(store, "compare", *options[:-1])
    assert "--same-inspector does" in capsys.readouterr().out
