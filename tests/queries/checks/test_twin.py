"""20,000 random rows with blanks and rubbish, judged by the SQL and by its twin."""

import random
from collections.abc import Iterable
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest

from queries.judgement import CHECK_NAMES, MASKED_VERDICTS
from queries.readers.records import read_record
from queries.store import Store
from tests.builders import (
    SETTING,
    build_store,
    load,
    load_calibrations,
    write_log,
)
from tests.queries.checks.twin import CHECKS
from tests.queries.checks.twin_tool import torque_tool
from tests.queries.checks.twin_values import INFINITE, UNREADABLE, Judged

ROWS = 20_000
BLANK_FRAC, RUBBISH_FRAC = 0.12, 0.04
RUBBISH = ("see note", "?", "-3", "12 or 13")

# What each changes of the default M12 (tests/builders.py); the figures are invented.
SETTINGS: list[dict[str, Any]] = [
    {"length_mark": "F"},
    # Mark F begins at 101.6 mm, at the very end of what is allowed.
    {
        "edge_spacing_interpolates": "false",
        "anchor_size": "1/2",
        "anchor_length_mm": "100.6",
    },
    {"at_edge_mm": "", "at_spacing_mm": "", "min_member_mm": "", "max_tilt_deg": ""}
    | {"length_mark": "F"},
    # A maker's own mark: 110 mm lies not in the letter's interval.
    {"torque_low_nm": "52.5", "torque_high_nm": "56", "brushes_required": "0"}
    | {"length_mark": "Z"},
    {"brushes_required": "0", "blows_required": "0", "drill_diameter_mm": "9"},
    {"extraction_replaces_cleaning": "true", "bit_min_mm": "12.05"},
    {"base_materials": "CRACKED;UNCRACKED", "min_concrete_mpa": "25"},
    {"base_materials": "CRACKED", "setting_torque_nm": "130", "bit_max_mm": "12.4"},
]
# Near the limits, in the steps that a site reads.
NUMBERS: dict[str, tuple[float, float, str]] = {
    "anchor_length_mm": (107.0, 113.0, "0.5"),
    "concrete_mpa": (20, 30, "1"),
    "member_thickness_mm": (138, 142, "0.5"),
    "bit_diameter_mm": (11.9, 12.6, "0.05"),
    "hole_depth_mm": (88, 92, "0.1"),
    "tilt_deg": (3, 7, "0.5"),
    "brush_count": (0, 4, "1"),
    "blow_count": (0, 4, "1"),
    "fixture_thickness_mm": (8, 22, "0.5"),
    "packing_mm": (0, 4, "0.5"),
    "projection_mm": (9, 13, "0.5"),
    "embedment_mm": (66, 70, "0.5"),
    "edge_1_mm": (62, 90, "1"),
    "edge_2_mm": (62, 120, "1"),
    "spacing_mm": (56, 106, "1"),
    "setting_torque_nm": (48, 62, "0.5"),
}
WORDS: dict[str, tuple[str, ...]] = {
    "anchor_type_code": ("TYPE-A", "TYPE-A", "TYPE-B"),
    "length_mark": ("E", "F", "G", "H", "Z", "4"),
    "base_material": ("CRACKED", "UNCRACKED", "BRICK"),
    "drill_method": ("hammer", "hollow_bit"),
    "wrench_code": ("W1", "W2", "W3", "W4", "W5"),
    "outcome": ("set", "set", "set", "replaced", "abandoned"),
}
YES_NO = ("extraction_on", "bit_worn", "cleaned")
CALIBRATIONS: list[dict[str, Any]] = [
    {"wrench_code": "W1", "calibrated_on": "2025-04-20", "valid_cycles": "900"},
    {"wrench_code": "W1", "calibrated_on": "2026-05-10", "valid_cycles": "700"},
    {"wrench_code": "W2", "calibrated_on": "2025-05-10"},
    {"wrench_code": "W3", "calibrated_on": "2026-05-06", "valid_to_on": "2026-05-20"},
    {"wrench_code": "W4", "calibrated_on": "2026-05-01", "range_low_nm": "55.1"},
    {"wrench_code": "W4", "calibrated_on": "2026-05-12", "range_high_nm": "54.9"},
]
CALIBRATION = {"range_low_nm": "20", "range_high_nm": "120"}


def _cells(rng: random.Random, number: int) -> dict[str, str]:
    """One row as a site would write it, some cells blank, some of them rubbish."""
    row = {
        name: str(low + (step * rng.randint(0, int((high - low) / step))))
        for name, (low, high, step_text) in NUMBERS.items()
        for step in [float(step_text)]
    }
    row = {name: f"{float(value):.3f}" for name, value in row.items()}
    for name in ("brush_count", "blow_count"):
        row[name] = str(int(float(row[name])))
    row |= {name: rng.choice(words) for name, words in WORDS.items()}
    row |= {name: rng.choice(("yes", "no")) for name in YES_NO}
    for name in ("edge_1_mm", "edge_2_mm", "spacing_mm"):
        if rng.random() < 0.15:
            row[name] = "clear"
    # Where a length is logged, nobody looks at the letter, and the other way round.
    for name in (rng.choice(("anchor_length_mm", "length_mark")), "embedment_mm"):
        if rng.random() < 0.7:
            row[name] = ""
    for name in row:
        if rng.random() < BLANK_FRAC:
            row[name] = ""
        elif rng.random() < RUBBISH_FRAC and name in (*NUMBERS, *YES_NO):
            row[name] = rng.choice(RUBBISH)
    day = date(2026, 5, 1) + timedelta(days=rng.randint(0, 30))
    return row | {
        "record_id": f"R{number:05d}",
        "setting_code": f"SET-{rng.randrange(len(SETTINGS))}",
        "installed_on": day.isoformat(),
    }


def _value(name: str, cell: str) -> Any:
    if cell == "":
        return None
    if cell in RUBBISH:
        return UNREADABLE
    if cell == "clear":
        return INFINITE
    if name in YES_NO or name in (
        "edge_spacing_interpolates",
        "extraction_replaces_cleaning",
    ):
        return cell in ("yes", "true")
    if name.endswith("_on"):
        return date.fromisoformat(cell)
    if name == "base_materials":
        return cell.split(";")
    if name in NUMBERS or name.endswith(("_mm", "_nm", "_mpa", "_deg")):
        return Fraction(cell)
    if name.endswith(("_required", "_cycles")):
        return int(cell)
    return cell


def _values(row: dict[str, Any]) -> dict[str, Any]:
    return {name: _value(name, str(cell)) for name, cell in row.items()}


@pytest.fixture(scope="module")
def rows() -> list[dict[str, str]]:
    rng = random.Random(5_2_2026)
    return [_cells(rng, number) for number in range(ROWS)]


@pytest.fixture(scope="module")
def store(
    tmp_path_factory: pytest.TempPathFactory, rows: list[dict[str, str]]
) -> Store:
    folder = tmp_path_factory.mktemp("twin")
    store = build_store(
        folder,
        settings=[
            {"setting_code": f"SET-{number}"} | change
            for number, change in enumerate(SETTINGS)
        ],
    )
    load_calibrations(store, [CALIBRATION | record for record in CALIBRATIONS])
    # The later half of the days comes first: the order of loading must not matter.
    middle = sorted(row["installed_on"] for row in rows)[ROWS // 2]
    for name, part in (
        ("late", [row for row in rows if row["installed_on"] > middle]),
        ("early", [row for row in rows if row["installed_on"] <= middle]),
    ):
        result = load(store, write_log(folder / name, part, name=name))
        assert not result.failures
        assert result.receipts[-1].loaded == len(part)
    return store


@pytest.fixture(scope="module")
def expected(rows: list[dict[str, str]]) -> dict[tuple[str, str], Judged]:
    needs = {
        f"SET-{number}": _values(SETTING | change)
        for number, change in enumerate(SETTINGS)
    }
    values = [_values(row) for row in rows]
    tools = torque_tool(
        values,
        needs,
        [_values(CALIBRATION | _whole(record)) for record in CALIBRATIONS],
    )
    judged: dict[tuple[str, str], Judged] = {}
    for row in values:
        for name in CHECK_NAMES:
            is_abandoned = row["outcome"] == "abandoned"
            judged[row["record_id"], name] = (
                ("inapplicable", None, None)
                if is_abandoned
                else tools[row["record_id"]]
                if name == "torque_tool"
                else CHECKS[name](row, needs[row["setting_code"]])
            )
    return judged


def _whole(record: dict[str, Any]) -> dict[str, Any]:
    return {"valid_to_on": "", "valid_cycles": ""} | record


def _belonging(judged: Judged) -> Judged:
    """A margin that did not decide is none: how far a check was from its verdict."""
    verdict, margin, direction = judged
    decides = margin is not None and (
        (verdict == "conforming" and margin >= 0)
        or (verdict == "nonconforming" and margin < 0)
    )
    return verdict, margin if decides else None, direction


def test_every_verdict_margin_and_direction_is_the_twins(
    store: Store, expected: dict[tuple[str, str], Judged]
) -> None:
    with store.reader() as con:
        found = con.execute(
            "select record_id, check_name, verdict, margin, direction "
            "from installation_verdict"
        ).fetchall()
    assert len(found) == len(expected) == ROWS * len(CHECK_NAMES)
    wrong = []
    for record_id, check, verdict, margin, direction in found:
        twin_verdict, twin_margin, twin_direction = _belonging(
            expected[record_id, check]
        )
        same_margin = (margin is None) == (twin_margin is None) and (
            margin is None
            or twin_margin is None
            or (margin == float("inf") and twin_margin > INFINITE / 2)
            or abs(margin - float(twin_margin)) < 1e-6
        )
        if (verdict, direction) != (twin_verdict, twin_direction) or not same_margin:
            wrong.append((record_id, check, verdict, margin, direction))
    assert not wrong, [(row, expected[row[0], row[1]]) for row in wrong[:5]]


# A record's page plans its words by the stored verdicts; the view works all out anew.
def test_a_record_reads_as_the_view_does(store: Store) -> None:
    wanted: dict[str, list[tuple[object, ...]]] = {}
    with store.reader() as con:
        rows = con.execute(
            "select record_id, check_name, verdict, margin, direction, words "
            "from installation_verdict"
        ).fetchall()
        for record_id, *said in rows:
            wanted.setdefault(record_id, []).append(tuple(said))
        [(site_code,)] = con.execute(
            "select distinct site_code from installation"
        ).fetchall()
        for record_id in random.Random(1).sample(sorted(wanted), 25):
            found = read_record(con, site_code, record_id)
            assert found is not None
            read = found.verdicts.drop("unit").rows()
            assert sorted(map(str, read)) == sorted(map(str, wanted[record_id]))


def test_every_verdict_of_every_check_is_among_them(
    expected: dict[tuple[str, str], Judged],
) -> None:
    seen: dict[str, set[str]] = {name: set() for name in CHECK_NAMES}
    for (_, check), (verdict, _, _) in expected.items():
        seen[check].add(verdict)
    for check, verdicts in seen.items():
        assert {"conforming", "nonconforming", "unrecorded"} <= verdicts, check


def test_stored_masks_are_the_verdicts(
    store: Store, expected: dict[tuple[str, str], Judged]
) -> None:
    with store.reader() as con:
        masks = con.execute(
            "select record_id, conforming_mask, nonconforming_mask, unrecorded_mask, "
            "unreadable_mask from installation"
        ).fetchall()
    for record_id, *of_record in masks:
        wanted = dict.fromkeys(MASKED_VERDICTS, 0)
        for position, name in enumerate(CHECK_NAMES):
            verdict = expected[record_id, name][0]
            if verdict != "inapplicable":
                wanted[verdict] |= 1 << position
        assert of_record == list(wanted.values()), record_id


def test_the_tally_counts_checks_and_anchors(
    store: Store, expected: dict[tuple[str, str], Judged]
) -> None:
    by_anchor: dict[str, set[str]] = {}
    for (record_id, _), (verdict, _, _) in expected.items():
        by_anchor.setdefault(record_id, set()).add(verdict)
    anchors = by_anchor.values()
    wanted = {
        "judged": _count(v & {"conforming", "nonconforming"} for v in anchors),
        "nonconforming": _count("nonconforming" in v for v in anchors),
        "undecided": _count(
            v & {"unrecorded", "unreadable"} and "nonconforming" not in v
            for v in anchors
        ),
    }
    torque = [expected[key][0] for key in expected if key[1] == "torque_tool"]
    with store.reader() as con:
        found = con.sql("select * from tally_check").pl()
    anchor_rows = found.filter(check_name="any_check")
    assert {name: anchor_rows[name].sum() for name in wanted} == wanted
    tool_rows = found.filter(check_name="torque_tool")
    assert tool_rows["nonconforming"].sum() == torque.count("nonconforming")
    assert tool_rows["judged"].sum() == _count(
        verdict in ("conforming", "nonconforming") for verdict in torque
    )


def _count(tests: Iterable[object]) -> int:
    return sum(map(bool, tests))
