"""Unit factors against NIST SP 811 and a load in other units."""

from pathlib import Path

import pytest
from scipy import constants

from etl.units import FACTORS
from queries.readers.records import read_record
from queries.store import Store
from tests.builders import INSTALLATION, NOW, load, write_csv, write_setting_data

# NIST SP 811 (2008), appendix B.8, as printed (seven figures; in bold, so exact, where
# more are given here); the digits from memory.
NIST = {
    "in": ("mm", 25.4),
    "ft·lbf": ("Nm", 1.355818),
    "in·lbf": ("Nm", 0.1129848),
    "kgf·m": ("Nm", 9.80665),
    "daN·m": ("Nm", 10),
    "psi": ("MPa", 0.006894757),
}


@pytest.mark.parametrize("unit", NIST)
def test_factors_nist_sp_811(unit: str) -> None:
    target, factor = NIST[unit]
    assert FACTORS[unit][0] == target
    assert FACTORS[unit][1] == pytest.approx(factor, rel=5e-7)


# CODATA and the exact definitions as scipy carries them: a second, independent source.
def test_factors_against_scipy() -> None:
    expected = {
        "mm": 1.0,
        "cm": constants.centi / constants.milli,
        "m": 1 / constants.milli,
        "in": constants.inch / constants.milli,
        "ft": constants.foot / constants.milli,
        "Nm": 1.0,
        "ft·lbf": constants.foot * constants.pound_force,
        "in·lbf": constants.inch * constants.pound_force,
        "kgf·m": constants.kilogram_force,
        "daN·m": constants.deka,
        "s": 1.0,
        "min": constants.minute,
        "ms": constants.milli,
        "MPa": 1.0,
        "bar": constants.bar / constants.mega,
        "psi": constants.psi / constants.mega,
        "ksi": constants.kilo * constants.psi / constants.mega,
        "deg": 1.0,
    }
    found = {unit: factor for unit, (_, factor) in FACTORS.items()}
    assert found == pytest.approx(expected, rel=1e-14)


MAP = """
[site]
code = "INCH"
name = "Invented inch site"
time_zone = "America/New_York"
[files]
match = "inch.csv"
[columns]
record_id = "record_id"
installed_on = "installed_on"
crew_code = "crew_code"
setting_code = "setting_code"
hole_depth_mm = {from = "hole", unit = "in"}
edge_1_mm = {from = "edge", unit = "in"}
spacing_mm = {from = "spacing", unit = "cm"}
setting_torque_nm = {from = "torque", unit = "ft·lbf"}
concrete_mpa = {from = "strength", unit = "psi"}
drill_s = {from = "minutes", unit = "min"}
"""


def logged_in(
    folder: Path, row: dict[str, object], **setting: object
) -> dict[str, object]:
    """Load one row of a site that logs inches; return it as stored, with verdicts."""
    folder.mkdir(parents=True, exist_ok=True)
    write_setting_data(folder, [setting])
    base = {
        name: INSTALLATION[name]
        for name in ("installed_on", "crew_code", "setting_code")
    }
    cells = dict.fromkeys(("hole", "edge", "spacing", "torque", "strength", "minutes"))
    write_csv(folder / "inch.csv", [{"record_id": "R1"} | base | cells | row])
    (folder / "inch.toml").write_text(MAP, "utf-8")
    store = Store(folder / "store")
    result = load(store, folder / "setting_data.csv", folder / "inch.csv", now=NOW)
    assert not result.failures
    with store.reader() as con:
        record = read_record(con, "INCH", "R1")
    assert record is not None
    verdicts = {row["check"]: row["verdict"] for row in record.verdicts.to_dicts()}
    return record.logged | verdicts


def test_a_row_in_other_units(tmp_path: Path) -> None:
    found = logged_in(
        tmp_path,
        {
            "hole": "3 5/8",
            "edge": "clear",
            "torque": "40",
            "strength": "4000",
            "minutes": "0.5",
            "spacing": "20.5",
        },
    )
    # 3 5/8 in = 3.625 x 25.4 = 92.075 mm; 40 ft·lbf = 40 x 1.3558179483314004 Nm;
    # 4,000 psi = 27.579 MPa (NIST SP 811 factors).
    expected = {
        "hole_depth_mm": 92.075,
        "edge_1_mm": float("inf"),
        "spacing_mm": 205.0,
        "setting_torque_nm": 54.232717933256016,
        "concrete_mpa": 27.57902917,
        "drill_s": 30.0,
    }
    assert {name: found[name] for name in expected} == pytest.approx(expected, rel=1e-9)


# 1.2 in is exactly 30.48 mm, but 1.2 x 25.4 is 30.479999999999997 in binary fractions:
# a hole of just the depth that is required must conform.
def test_at_the_limit_in_inches(tmp_path: Path) -> None:
    assert 1.2 * 25.4 < 30.48
    limits = {
        "embedment_mm": 20,
        "nominal_embedment_mm": 25,
        "hole_depth_mm": 30.48,
    }
    assert logged_in(tmp_path / "at", {"hole": "1.2"}, **limits)["hole_depth"] == (
        "conforming"
    )
    assert logged_in(tmp_path / "under", {"hole": "1.1999"}, **limits)[
        "hole_depth"
    ] == ("nonconforming")
