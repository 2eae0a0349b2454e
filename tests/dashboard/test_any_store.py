"""Any store, however odd, gives every page: words, and no fault of firmset.

Stores by chance with fixed seeds: one row or some hundred, one site or six, columns
that say nothing, the same everywhere or what cannot be read, a day or some hundred.
"""

import random
import warnings
from datetime import date, timedelta
from pathlib import Path
from urllib.parse import urlencode

import pytest

from dashboard import app, later
from dashboard.pages import PAGES
from queries.judgement import RATE_NAMES
from tests.builders import Row, build_store, load, write_csv
from tests.dashboard.components import text, whole_answer
from tests.examples import TIMES

STORES = 8 * TIMES
SETTINGS: list[Row] = [
    {},
    {"setting_code": "M8-40", "anchor_size": "M8", "drill_diameter_mm": 8},
    {"setting_code": "M16-84", "anchor_size": "M16", "drill_diameter_mm": 16},
    {"setting_code": "1/2-70", "anchor_size": "1/2", "drill_diameter_mm": 12.7},
]
# What a column of a log may hold; of each store some of it, or the column not at all.
CELLS = {
    "hole_depth_mm": ["", "92", "80", "120", "?"],
    "edge_1_mm": ["clear", "", "60", "70", "120"],
    "spacing_mm": ["clear", "50", "80", "200", ""],
    "drill_method": ["", "hammer", "core", "hollow_bit"],
    "orientation": ["", "floor", "wall", "soffit"],
    "outcome": ["set", "abandoned", "replaced", ""],
    "setting_torque_nm": ["", "55", "40", "80", "?"],
    "recheck_torque_nm": ["", "40", "20"],
    "brush_count": ["", "0", "2"],
    "drill_s": ["", "20", "35", "60", "1", "0", "900"],
    "cleaning_s": ["", "10"],
    "tilt_deg": ["", "3", "9"],
    "wrench_code": ["", "W1", "W2"],
    "inspector_code": ["", "I1", "I2"],
    "installer_code": ["", "P1", "P2"],
    "packing_mm": ["", "0", "50"],
    "projection_mm": ["", "11", "60"],
    "anchor_length_mm": ["", "110", "75"],
    "work_area": ["", "A", "B"],
}
Sites = dict[str, list[Row]]


def any_sites(chance: random.Random) -> Sites:
    """Return the rows of some sites, a few of what each column may hold."""
    span = chance.choice([1, 3, 30, 120, 500])
    codes = chance.sample(
        [str(one.get("setting_code", "M12-68")) for one in SETTINGS], 2
    )
    cells = {
        name: chance.sample(held, chance.randint(1, len(held)))
        for name, held in CELLS.items()
        if chance.random() < 0.8
    }
    crews = chance.choice([["C1"], ["C1", "C2"], [f"C{one}" for one in range(9)]])

    def row() -> Row:
        day = date(2025, 5, 4) + timedelta(chance.randrange(span))
        return {
            "installed_on": day.isoformat(),
            "crew_code": chance.choice(crews),
            "setting_code": chance.choice(codes),
            **{name: chance.choice(held) for name, held in cells.items()},
        }

    return {
        f"SITE-{site}": [row() for _ in range(chance.choice([1, 2, 5, 30, 150]))]
        for site in range(chance.choice([1, 1, 2, 3, 6]))
    }


def any_search(chance: random.Random, sites: Sites) -> str:
    """Return some filters; all of what they name is in the store."""
    rows = [row for own in sites.values() for row in own]
    size = chance.choice(["M12", "M8", "M16"])
    asked = {
        "from": chance.choice(rows)["installed_on"],
        "to": chance.choice(rows)["installed_on"],
        "sites": chance.choice([*sites]),
        "crews": chance.choice(rows)["crew_code"],
        "check": chance.choice(RATE_NAMES),
        "units": "inch",
        "size": size,
        "embedment": chance.choice(["40", "68"]),
        "budget": "1",
    }
    taken = {name: text for name, text in asked.items() if chance.random() < 0.4}
    return f"?{urlencode(taken)}"


@pytest.mark.parametrize("number", range(STORES))
def test_every_page_of_any_store(
    tmp_path: Path, number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(error: Exception) -> str:
        raise AssertionError(search) from error

    chance = random.Random(number)
    sites = any_sites(chance)
    monkeypatch.setattr(app, "failure_words", fail)
    monkeypatch.setattr(later, "failure_words", fail)
    with warnings.catch_warnings(action="error", category=RuntimeWarning):
        store = build_store(tmp_path, settings=SETTINGS, sites=sites)
        trained = [
            {
                "crew_code": own[0]["crew_code"],
                "topic": chance.choice(["hole_cleaning", "setting_torque", "ladders"]),
                "trained_on": own[0]["installed_on"],
            }
            for own in sites.values()
        ]
        load(store, write_csv(tmp_path / "trainings.csv", trained[:1]))
        for search in ("", any_search(chance, sites), any_search(chance, sites)):
            for path in PAGES:
                assert "nan" not in text(whole_answer(store, path, search)).split()
