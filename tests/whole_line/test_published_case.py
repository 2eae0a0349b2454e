"""A published p chart pushed through the whole line: log, load, edition, terminal."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.command import main
from tests.builders import build_store

# NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.3.2 Proportions Control
# Charts: 30 wafers of 50 chips; the handbook prints the centre 0.2313 (page text). The
# counts are from memory; they equal the trial samples of Montgomery's orange juice
# cans, and their sum agrees with the printed centre (347 of 1500).
DEFECTIVE = [
    *(12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22),
    *(8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6),
]
CHIPS = 50
CENTRE = 0.2313


def test_the_handbook_s_p_chart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monday = date(2025, 9, 1)
    rows = [
        {
            "installed_on": (
                monday + timedelta(weeks=week, days=number % 5)
            ).isoformat(),
            # Over the band where the chip was defective.
            "setting_torque_nm": "75" if number < defective else "55",
        }
        for week, defective in enumerate(DEFECTIVE)
        for number in range(CHIPS)
    ]
    store = build_store(tmp_path, rows)
    options = ["--check", "setting_torque", "--format", "json"]
    main(["rates", "--by", "week", *options, "--store", str(store.folder)])
    weeks = json.loads(capsys.readouterr().out)
    assert [row["nonconforming"] for row in weeks] == DEFECTIVE
    assert {row["judged"] for row in weeks} == {CHIPS}
    judged = sum(row["judged"] for row in weeks)
    centre = sum(row["nonconforming"] for row in weeks) / judged
    assert centre == pytest.approx(CENTRE, abs=5e-5)
    main(["rates", *options, "--store", str(store.folder)])
    [whole] = json.loads(capsys.readouterr().out)
    assert whole["rate"] == pytest.approx(CENTRE, abs=5e-5)
    # The handbook takes all 30 as its baseline: limits 0.0524 and 0.4102 (memory),
    # and the wafers 15 and 23 lie beyond.
    baseline = ["--baseline-from", monday.isoformat()]
    main(["trend", "--by", "week", *baseline, *options, "--store", str(store.folder)])
    trend = json.loads(capsys.readouterr().out)
    assert trend["centre"] == pytest.approx(CENTRE, abs=5e-5)
    assert (trend["baseline"]["periods"], trend["sigma_z"]) == (30, 1.0)
    for point in trend["points"]:
        assert point["lower"] == pytest.approx(0.0524, abs=5e-5)
        assert point["upper"] == pytest.approx(0.4102, abs=5e-5)
    beyond = [
        number
        for number, point in enumerate(trend["points"], start=1)
        if "beyond_upper" in point["signals"]
    ]
    assert beyond == [15, 23]
