"""How often flags are false on these very days, whoever is chosen."""

import json
from pathlib import Path

import pytest

from dashboard.command import main
from tests.builders import Row, build_store


def test_calibrate_deals_all_whichever_is_chosen(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whole days are bad or good: taken for independent, sites would be flagged."""
    sites: dict[str, list[Row]] = {
        f"S{number}": [
            {
                "installed_on": f"2026-05-{4 + day:02}",
                "setting_torque_nm": "20" if (day + number) % 4 == 0 else "55",
            }
            for day in range(8)
            for _ in range(10)
        ]
        for number in range(5)
    }
    made = build_store(tmp_path, settings=[{}], sites=sites)
    options = ["calibrate", "--by", "site", "--check", "setting_torque"]
    found = []
    for chosen in ([], ["--site", "S1"]):
        main(
            [
                *options,
                *chosen,
                "--shuffles",
                "50",
                "--format",
                "json",
                "--store",
                str(made.folder),
            ]
        )
        found.append(json.loads(capsys.readouterr().out))
    assert found[0]["any_naive"] > 0
    assert found[0] == found[1]
