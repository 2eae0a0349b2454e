"""`firmset changes`: the same figures as the page, names that scripts rely on."""

import json
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store

NAMES = [
    "group",
    "check",
    *(
        f"{month}_{name}"
        for month in ("earlier", "later")
        for name in ("judged", "nonconforming", "missing")
    ),
    "earlier_rate",
    "later_rate",
    "difference",
    "low",
    "high",
    "mix_part",
    "performance_part",
    "alone_judged",
    "alone_nonconforming",
    "p_value",
    "q_value",
    "is_changed",
    "is_worse",
    "detectable_rise",
]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """One site, 5/100 in 2027-05 and 30/100 in 2027-06."""
    folder: Path = tmp_path_factory.mktemp("changes")
    rows: list[Row] = [
        {
            "installed_on": f"2027-{month:02}-{1 + number % 20:02}",
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for month, bad in ((5, 5), (6, 30))
        for number in range(100)
    ]
    return build_store(folder, rows)


def run(store: Store, *arguments: str) -> int:
    return main(["changes", *arguments, "--store", str(store.folder)])


def test_changes_json(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(store, "--check", "setting_torque", "--format", "json") == 0
    [row] = json.loads(capsys.readouterr().out)
    assert list(row) == NAMES
    assert (row["earlier_nonconforming"], row["later_nonconforming"]) == (5, 30)
    assert row["difference"] == pytest.approx(0.25)
    assert row["is_changed"] is True


def test_changes_in_words(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(store, "--by", "crew", "--check", "setting_torque") == 0
    said = capsys.readouterr().out.replace("\xa0", " ")
    assert "CREW-1  setting_torque" in said
    assert "CREW-1 rose from 5.0 % (5/100) to 30.0 % (30/100): +25.0 points" in said
    assert "In setting torque a rise of less than" in said


def test_changes_errors(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(store, "--check", "colour") == 2
    assert "unknown check 'colour'" in capsys.readouterr().err
