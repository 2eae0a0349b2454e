"""What a foreman reads: words, re-checks, questions, both rates."""

from pathlib import Path

import pytest

from queries.judgement import CHECK_NAMES
from queries.readers.rates import read_rates
from queries.readers.record_page import read_record_page
from queries.readers.record_search import RecordSearch, read_day_counts
from queries.readers.records import (
    Record,
    read_nonconforming_by_ratio,
    read_record,
)
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store


def record_of(tmp_path: Path, row: Row, **setting: object) -> Record:
    store = build_store(tmp_path, [row], settings=[setting])
    with store.reader() as con:
        record = read_record(con, "SITE-1", "R1")
    assert record is not None
    return record


def words_of(record: Record, check: str) -> str:
    return str(record.verdicts.filter(check=check)["words"][0])


# 110 - (20 + 18) - 11 is 61 mm in the concrete, less 11 mm to the tip 50 mm: short by
# just the packing.
@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            {"packing_mm": "18"},
            "18 mm of packing make it short: embedment 50 mm, 68 required",
        ),
        (
            {"packing_mm": "2", "projection_mm": "12"},
            "2 mm of packing: embedment 65 mm, 68 required",
        ),
        ({"packing_mm": "0"}, "embedment 68 mm, 68 required"),
        (
            {"packing_mm": ""},
            "embedment at most 68 mm (packing not logged), 68 required",
        ),
    ],
)
def test_the_words_name_the_packing(tmp_path: Path, row: Row, words: str) -> None:
    assert words_of(record_of(tmp_path, row), "embedment") == words


@pytest.mark.parametrize("row", [{}, dict.fromkeys(("anchor_length_mm",), "")])
def test_every_verdict_has_words(tmp_path: Path, row: Row) -> None:
    record = record_of(tmp_path, row)
    assert record.verdicts["check"].to_list() == list(CHECK_NAMES)
    assert all(record.verdicts["words"].to_list())


def test_a_limit_on_one_side_is_said(tmp_path: Path) -> None:
    """No usual limits are known for a bit of 33 mm: the setting data give one."""
    row: Row = {"bit_diameter_mm": "32.5"}
    odd = {"drill_diameter_mm": 33}
    least = record_of(tmp_path / "least", row, **odd, bit_min_mm=33.1)
    assert words_of(least, "drill_bit") == "bit 32.5 mm, at least 33.1 required"
    row = {"bit_diameter_mm": "33.6"}
    most = record_of(tmp_path / "most", row, **odd, bit_max_mm=33.4)
    assert words_of(most, "drill_bit") == "bit 33.6 mm, at most 33.4 required"


def test_the_default_band_is_called_so(tmp_path: Path) -> None:
    words = words_of(record_of(tmp_path / "default", {}), "setting_torque")
    assert words == "set to 55 Nm, 49.5 to 60.5 required (project default band)"
    published = record_of(
        tmp_path / "published", {}, torque_low_nm="50", torque_high_nm="60"
    )
    assert "default" not in words_of(published, "setting_torque")


# The same diameter and length with other published torque: judged by its own data.
def test_torque_is_never_inferred_from_size(tmp_path: Path) -> None:
    store = build_store(
        tmp_path,
        [{"setting_code": "M12-68"}, {"setting_code": "M12-68-S"}],
        settings=[{}, {"setting_code": "M12-68-S", "setting_torque_nm": 70}],
    )
    with store.reader() as con:
        records = [read_record(con, "SITE-1", name) for name in ("R1", "R2")]
    verdicts = [
        record.verdicts.filter(check="setting_torque")["verdict"][0]
        for record in records
        if record
    ]
    assert verdicts == ["conforming", "nonconforming"]


def test_a_torque_found_later_is_a_share_with_an_age(tmp_path: Path) -> None:
    # 33 of 55 Nm, two days and six hours later.
    record = record_of(
        tmp_path,
        {
            "installed_at": "2026-05-04T08:00",
            "recheck_torque_nm": "33",
            "recheck_at": "2026-05-06T14:00",
        },
    )
    assert record.recheck == {
        "recheck_torque_nm": 33,
        "recheck_share": pytest.approx(0.6),
        "is_of_required": False,
        "age_days": pytest.approx(2.25),
    }
    [verdict] = record.verdicts.filter(check="setting_torque")["verdict"]
    assert verdict == "conforming"
    assert record_of(tmp_path / "none", {}).recheck is None
    # No time of setting: days as the site counts them; in UTC it is the same day.
    next_day = record_of(
        tmp_path / "day",
        {
            "installed_on": "2026-05-04",
            "recheck_torque_nm": "33",
            "recheck_at": "2026-05-05T00:30",
        },
    )
    assert next_day.recheck is not None and next_day.recheck["age_days"] == 1
    # 33 of the 55 Nm required, where the torque at setting was not logged.
    blank = record_of(
        tmp_path / "blank", {"setting_torque_nm": "", "recheck_torque_nm": "33"}
    )
    assert blank.recheck is not None
    assert blank.recheck["recheck_share"] == pytest.approx(0.6)
    assert blank.recheck["is_of_required"] is True


# A cell that holds something is not called missing; a missed limit never reads as met.
@pytest.mark.parametrize(
    ("check", "row", "verdict", "words"),
    [
        (
            "setting_torque",
            {"setting_torque_nm": "tight"},
            "unreadable",
            "setting torque cannot be read as logged",
        ),
        (
            "edge_distance",
            {"edge_1_mm": "120", "edge_2_mm": "near", "spacing_mm": "?"},
            "unreadable",
            "edge 2 and spacing cannot be read as logged",
        ),
        (
            "setting_torque",
            {"setting_torque_nm": "60.501"},
            "nonconforming",
            "beyond the limit by 0.001 Nm",
        ),
        (
            "spacing",
            {"spacing_mm": "59.9999", "edge_1_mm": "200"},
            "nonconforming",
            "beyond the limit by 0.0001 mm",
        ),
    ],
)
def test_words_say_what_is_the_matter(
    tmp_path: Path, check: str, row: Row, verdict: str, words: str
) -> None:
    [found] = record_of(tmp_path, row).verdicts.filter(check=check).to_dicts()
    assert found["verdict"] == verdict
    assert words in found["words"]


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("54", "", "54 to 60.5 required (upper end: project default)"),
        ("", "56", "49.5 to 56 required (lower end: project default)"),
        ("54", "56", "54 to 56 required"),
    ],
)
def test_a_default_is_said_of_the_end_that_has_it(
    tmp_path: Path, low: str, high: str, words: str
) -> None:
    record = record_of(tmp_path, {}, torque_low_nm=low, torque_high_nm=high)
    assert words_of(record, "setting_torque").endswith(words)


# Derived 68 mm. More than 3 mm apart is a question (common practice, no source).
@pytest.mark.parametrize(
    ("measured", "is_question"),
    [("71", False), ("71.1", True), ("65", False), ("64.9", True), ("", False)],
)
def test_entries_that_contradict_are_a_question(
    tmp_path: Path, measured: str, is_question: bool
) -> None:
    record = record_of(tmp_path, {"embedment_mm": measured})
    assert bool(record.questions) == is_question
    if is_question:
        assert f"measured {measured} mm" in record.questions[0]
        assert "give 68 mm: 3.1 mm apart" in record.questions[0]


# Default row: 110 - 20 - 0 - 11 = 79 mm from the surface to the bolt's tip.
@pytest.mark.parametrize(
    ("row", "asked"),
    [
        ({"hole_depth_mm": "76"}, ""),
        (
            {"hole_depth_mm": "75.9"},
            (
                "hole 75.9 mm deep, but the length, fixture, packing and projection "
                "put the bolt's tip 79 mm deep, in solid concrete. Which entry is "
                "right?"
            ),
        ),
        # 70 mm measured to the end of the sleeve, and 79 - 68 to the tip: 81 mm.
        ({"hole_depth_mm": "78", "embedment_mm": "70"}, ""),
        (
            {"hole_depth_mm": "77.9", "embedment_mm": "70"},
            "hole 77.9 mm deep, but the measured embedment puts the bolt's tip 81 mm",
        ),
        # 1 mm of packing not known: nothing is derived, and nothing asked.
        ({"hole_depth_mm": "40", "packing_mm": ""}, ""),
        ({"hole_depth_mm": ""}, ""),
        ({"hole_depth_mm": "40", "outcome": "abandoned"}, ""),
    ],
)
def test_a_hole_shallower_than_its_bolt_is_a_question(
    tmp_path: Path, row: Row, asked: str
) -> None:
    questions = record_of(tmp_path, row).questions
    assert len(questions) == bool(asked)
    assert all(each.startswith(asked) for each in questions)


def test_both_contradictions_are_asked(tmp_path: Path) -> None:
    row = {"hole_depth_mm": "60", "embedment_mm": "60"}
    questions = record_of(tmp_path, row).questions
    assert [each.split()[0] for each in questions] == ["embedment", "hole"]


def test_a_recheck_before_the_setting_is_asked(tmp_path: Path) -> None:
    row: Row = {
        "installed_at": "2026-05-04T08:00",
        "recheck_torque_nm": "33",
        "recheck_at": "2026-05-04T07:59",
        "hole_depth_mm": "",
    }
    [question] = record_of(tmp_path, row).questions
    assert "before the anchor was set" in question


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Five anchors: two faults on one, one fault, none, nothing recorded, abandoned."""
    nothing = dict.fromkeys(
        (
            *("anchor_length_mm", "hole_depth_mm", "brush_count", "blow_count"),
            *("fixture_thickness_mm", "packing_mm", "projection_mm"),
            *("edge_1_mm", "spacing_mm", "setting_torque_nm"),
        ),
        "",
    )
    rows: list[Row] = [
        {"hole_depth_mm": "80", "setting_torque_nm": "20"},
        {"hole_depth_mm": "80", "edge_1_mm": "clear", "embedment_mm": "54.4"},
        {},
        nothing,
        {"outcome": "abandoned"},
    ]
    return build_store(tmp_path_factory.mktemp("anchors"), rows)


def test_an_anchor_with_two_faults_counts_once(store: Store) -> None:
    with store.reader() as con:
        anchors = read_rates(con, [], Selection(check_names=("any_check",)))
        checks = read_rates(con, [], Selection())
    # Three anchors judged; the fourth has nothing to judge; the third conforms as far
    # as it is known, but tilt and others were not recorded.
    row = anchors.row(0, named=True)
    assert (row["judged"], row["nonconforming"], row["unrecorded"]) == (3, 2, 1)
    assert row["inapplicable"] == 1
    assert row["rate"] == pytest.approx(2 / 3)
    assert row["rate_if_unrecorded_conform"] == pytest.approx(2 / 4)
    assert row["rate_if_unrecorded_not"] == pytest.approx(4 / 4)
    # The sum over checks counts the first anchor twice, and the second's two faults.
    assert "any_check" not in checks["check"].to_list()
    assert checks["nonconforming"].sum() == 4


def test_nonconforming_anchors_by_ratio(store: Store) -> None:
    with store.reader() as con:
        days = read_day_counts(con, RecordSearch())
        listed = read_record_page(con, RecordSearch(), days).rows
        [row] = read_nonconforming_by_ratio(con, Selection()).to_dicts()
    # Edge 120 mm is beyond 1.5 h_ef = 102: nothing lost. 54.4 of 68 mm is 80 %: 0.716.
    assert days.total == row["nonconforming"] == 2
    assert sorted(listed["cone_ratio"]) == pytest.approx([0.716, 1.0], abs=5e-4)
    assert (row["below_070"], row["below_085"], row["nothing_lost"]) == (0, 1, 1)
    assert row["lowest"] == pytest.approx(0.716, abs=5e-4)
