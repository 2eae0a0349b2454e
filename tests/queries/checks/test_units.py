"""Limits in every unit a site may log: at the limit, one step inside, one outside.

Limits are chosen so that both sides are exact in the site's unit, though not in binary:
1.2 in x 25.4 is 30.479999999999997. Factors: NIST SP 811.
"""

from decimal import Decimal
from typing import Any, NamedTuple

import pytest

from queries.store import Store
from tests.builders import load, write_log, write_setting_data

MM = {"mm": "1", "cm": "10", "m": "1000", "in": "25.4"}
NM = {
    "Nm": "1",
    "ft·lbf": "1.3558179483314004",
    "in·lbf": "0.1129848290276167",
    "kgf·m": "9.80665",
    "daN·m": "10",
}
MPA = {"MPa": "1", "psi": "0.006894757293168361"}


class Limit(NamedTuple):
    """A check whose limit is `at` units; `step` is what the site reads."""

    check: str
    column: str
    setting_column: str
    at: str
    step: str
    is_upper: bool
    factors: dict[str, str]


# Of each unit the same digits are the limit: 3.6 in, 3.6 m, ... of hole depth.
LIMITS = [
    Limit("hole_depth", "hole_depth_mm", "hole_depth_mm", "5.7", "0.1", False, MM),
    Limit("embedment", "embedment_mm", "embedment_mm", "1.2", "0.1", False, MM),
    Limit(
        "member_thickness", "member_thickness_mm", "min_member_mm", "4.1", "0.1",
        False, MM,
    ),
    Limit("edge_distance", "edge_1_mm", "min_edge_mm", "2.3", "0.1", False, MM),
    Limit("spacing", "spacing_mm", "min_spacing_mm", "4.6", "0.1", False, MM),
    Limit(
        "fixture_thickness", "fixture_thickness_mm", "max_fixture_mm", "1.1", "0.1",
        True, MM,
    ),
    Limit("drill_bit", "bit_diameter_mm", "bit_min_mm", "0.47", "0.01", False, MM),
    Limit("drill_bit", "bit_diameter_mm", "bit_max_mm", "0.53", "0.01", True, MM),
    Limit(
        "setting_torque", "setting_torque_nm", "torque_low_nm", "36.3", "0.1", False, NM
    ),
    Limit(
        "setting_torque", "setting_torque_nm", "torque_high_nm", "44.3", "0.1", True, NM
    ),
    Limit(
        "base_material", "concrete_mpa", "min_concrete_mpa", "25.1", "0.1", False, MPA
    ),
]  # fmt: skip
PARTS = [
    pytest.param(limit, unit, id=f"{limit.check}-{limit.setting_column}-{unit}")
    for limit in LIMITS
    for unit in limit.factors
]


def _setting(limit: Limit, unit: str) -> dict[str, object]:
    """Setting data in mm, Nm and MPa with this limit, and nothing else in its way."""
    factor = Decimal(limit.factors[unit])
    at = Decimal(limit.at) * factor
    setting: dict[str, object] = {
        "at_edge_mm": "",
        "at_spacing_mm": "",
        "min_member_mm": "",
        limit.setting_column: f"{at:f}",
    }
    match limit.check:
        case "embedment":
            setting |= {"nominal_embedment_mm": f"{at + 1:f}"}
            setting |= {"hole_depth_mm": f"{at + 2:f}"}
            setting |= {"anchor_length_mm": f"{at + 50:f}"}
        case "hole_depth":
            setting |= {"embedment_mm": "1", "nominal_embedment_mm": "2"}
            setting |= {"anchor_length_mm": "110"}
        case "member_thickness":
            setting |= {"embedment_mm": "1", "nominal_embedment_mm": "2"}
            setting |= {"hole_depth_mm": "3"}
        case "fixture_thickness":
            setting |= {"anchor_length_mm": _length(limit, unit)}
        case "drill_bit":
            setting |= {"drill_diameter_mm": f"{at:f}"}
            other = {"bit_min_mm": "bit_max_mm", "bit_max_mm": "bit_min_mm"}
            factor_off = Decimal("0.5") if limit.is_upper else Decimal(2)
            setting[other[limit.setting_column]] = f"{at * factor_off:f}"
        case "setting_torque":
            target = Decimal("40") * factor
            setting |= {"setting_torque_nm": f"{target:f}"}
            setting |= {"torque_low_nm": f"{Decimal('36.3') * factor:f}"}
            setting |= {"torque_high_nm": f"{Decimal('44.3') * factor:f}"}
    return setting


def _length(limit: Limit, unit: str) -> str:
    """Length in mm that reaches through the thickest fixture and 79 mm further."""
    return f"{Decimal(limit.at) * Decimal(limit.factors[unit]) + 79:f}"


Found = dict[str, dict[str, Any]]


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """One store: a site a unit, a setting a limit and unit; the verdicts by record."""
    folder = tmp_path_factory.mktemp("units")
    sheet = write_setting_data(
        folder,
        [
            {"setting_code": _code(limit, unit)} | _setting(limit, unit)
            for limit in LIMITS
            for unit in limit.factors
        ],
    )
    store = Store(folder / "store")
    logs = []
    for number, unit in enumerate(dict.fromkeys((*MM, *NM, *MPA))):
        limits = [limit for limit in LIMITS if unit in limit.factors]
        logs.append(
            write_log(
                folder,
                [row for limit in limits for row in _rows(limit, unit)],
                site=f"UNIT-{number}",
                units={limit.column: unit for limit in limits},
            )
        )
    result = load(store, sheet, *logs)
    assert not result.failures
    with store.reader() as con:
        rows = con.sql("select * from installation_verdict").pl().to_dicts()
    return {f"{row['record_id']} {row['check_name']}": row for row in rows}


def _code(limit: Limit, unit: str) -> str:
    return f"{limit.check}-{limit.setting_column}-{unit}".upper()


def _steps(limit: Limit) -> list[Decimal]:
    return [Decimal(limit.at) + n * Decimal(limit.step) for n in (-1, 0, 1)]


def _rows(limit: Limit, unit: str) -> list[dict[str, str]]:
    return [
        {
            "record_id": f"{_code(limit, unit)} {number}",
            "setting_code": _code(limit, unit),
            "spacing_mm": "clear",
            "base_material": "C",
        }
        | _installed_length(limit, unit)
        | {limit.column: str(value)}
        for number, value in enumerate(_steps(limit))
    ]


def _installed_length(limit: Limit, unit: str) -> dict[str, str]:
    """The length specified, where what it leaves for the fixture is judged."""
    if limit.check != "fixture_thickness":
        return {}
    return {"anchor_length_mm": _length(limit, unit)}


@pytest.mark.parametrize(("limit", "unit"), PARTS)
def test_a_limit_in_the_sites_unit(found: Found, limit: Limit, unit: str) -> None:
    rows = [
        found[f"{_code(limit, unit)} {number} {limit.check}"] for number in (0, 1, 2)
    ]
    verdicts = ["nonconforming", "conforming", "conforming"]
    assert [row["verdict"] for row in rows] == (
        verdicts[::-1] if limit.is_upper else verdicts
    )
    sign = -1 if limit.is_upper else 1
    step = Decimal(limit.step) * Decimal(limit.factors[unit])
    margins = [float(sign * number * step) for number in (-1, 0, 1)]
    assert [row["margin"] for row in rows] == pytest.approx(margins, abs=1e-6)
