"""Each check at its limit, one step inside and one outside, through a load.

Setting data of the cases: tests/builders.py (invented M12: 110 mm long, h_ef 68, h_nom
79, h_1 90, 55 Nm, edge 65 at spacing 100, spacing 60 at edge 85).
"""

from typing import Any

import pytest

from queries.judgement import CHECK_NAMES, MASKED_VERDICTS
from queries.store import Store
from tests.builders import build_store
from tests.queries.checks import cases_hole, cases_length, cases_place, cases_torque
from tests.queries.checks.case import Case

MODULES = (cases_length, cases_hole, cases_place, cases_torque)
CASES: list[Case] = [
    case
    for module in MODULES
    for name, cases in vars(module).items()
    if name.endswith("_CASES")
    for case in cases
]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """One store with a row and setting data of its own for every case."""
    return build_store(
        tmp_path_factory.mktemp("checks"),
        [
            {"record_id": f"CASE-{number}", "setting_code": f"SET-{number}"}
            | dict(case.row)
            for number, case in enumerate(CASES)
        ],
        settings=[
            {"setting_code": f"SET-{number}"} | dict(case.setting)
            for number, case in enumerate(CASES)
        ],
    )


@pytest.fixture(scope="module")
def verdicts(store: Store) -> dict[tuple[str, str], dict[str, Any]]:
    """Every row of installation_verdict by record and check."""
    with store.reader() as con:
        rows = con.sql("select * from installation_verdict").pl().to_dicts()
    return {(row["record_id"], row["check_name"]): row for row in rows}


each_case = pytest.mark.parametrize(
    "number", range(len(CASES)), ids=lambda number: f"{CASES[number].check}-{number}"
)


def test_every_check_has_its_limits() -> None:
    # The torque tool needs calibrations: test_torque_tool.py.
    assert {case.check for case in CASES} | {"torque_tool"} == set(CHECK_NAMES)


@each_case
def test_check_at_its_limits(
    verdicts: dict[tuple[str, str], dict[str, Any]], number: int
) -> None:
    case = CASES[number]
    found = verdicts[f"CASE-{number}", case.check]
    assert (found["verdict"], found["direction"]) == (case.verdict, case.direction)
    assert found["margin"] == (
        None if case.margin is None else pytest.approx(case.margin)
    )


@pytest.fixture(scope="module")
def masks(store: Store) -> dict[str, tuple[int, ...]]:
    with store.reader() as con:
        rows = con.execute(
            "select record_id, conforming_mask, nonconforming_mask, unrecorded_mask, "
            "unreadable_mask from installation"
        ).fetchall()
    return {record_id: tuple(values) for record_id, *values in rows}


@each_case
def test_the_stored_verdict_is_the_same(
    masks: dict[str, tuple[int, ...]], number: int
) -> None:
    case = CASES[number]
    bit = 1 << CHECK_NAMES.index(case.check)
    stored = [
        name
        for name, mask in zip(MASKED_VERDICTS, masks[f"CASE-{number}"], strict=True)
        if mask & bit
    ]
    assert stored == ([] if case.verdict == "inapplicable" else [case.verdict])
