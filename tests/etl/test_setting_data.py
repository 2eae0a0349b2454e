"""Setting data: refused whole with every fault, and verdicts follow a change."""

import re
from fractions import Fraction
from pathlib import Path

import pytest

from etl.sheets.cells import NOT_UTF8
from etl.sheets.setting_data import RULES, SHEET
from queries.readers.rates import read_rates
from queries.selection import Selection
from tests.builders import NOW, build_store, load, write_setting_data


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ({"embedment_mm": "-1"}, "row 2: embedment_mm = '-1': expected a number"),
        ({"embedment_mm": ""}, "row 2: embedment_mm = '': expected a number"),
        ({"embedment_mm": "nan"}, "row 2: embedment_mm = 'nan'"),
        ({"embedment_mm": "6_8"}, "row 2: embedment_mm = '6_8'"),
        (
            {"embedment_mm": "1,250"},
            "'1,250': it has two readings, 1.25 and 1250; expected a number of mm",
        ),
        ({"embedment_mm": "68 Nm"}, "'68 Nm': found Nm, a torque; expected a number"),
        ({"max_tilt_deg": "95"}, "max_tilt_deg = '95': expected a number of degrees"),
        ({"anchor_size": "large"}, "anchor_size = 'large': expected a size"),
        ({"anchor_size": "M0"}, "row 2: anchor_size = 'M0': expected a size"),
        ({"base_materials": "; ;"}, "base_materials = '; ;': expected codes with ;"),
        ({"brushes_required": "two"}, "brushes_required = 'two': expected a whole"),
        (
            {"edge_spacing_interpolates": "maybe"},
            "'maybe': expected yes or no, or true or false",
        ),
        ({"surplus": "1"}, "row 1: unknown columns: surplus: expected setting_code"),
    ],
)
def test_a_fault_refuses_the_sheet(
    tmp_path: Path, row: dict[str, object], fault: str
) -> None:
    store = build_store(tmp_path / "held")
    result = load(store, write_setting_data(tmp_path, [row]))
    assert not result.receipts
    [failure] = result.failures
    assert failure.startswith(f"{tmp_path / 'setting_data.csv'}: ")
    assert fault in failure


# One case a rule, a step beyond its limit: the default row has h_ef 68, h_nom 79,
# h_1 90, length 110, fixture 20, torque 55, c_min 65 with s_1 100, s_min 60 with
# c_1 85.
BROKEN_RULES: list[tuple[dict[str, object], str]] = [
    ({"embedment_mm": 80}, "embedment_mm = 80, nominal_embedment_mm = 79: expected"),
    ({"hole_depth_mm": 78}, "nominal_embedment_mm = 79, hole_depth_mm = 78: expected"),
    (
        {"max_fixture_mm": 31.5},
        "max_fixture_mm = 31.5, nominal_embedment_mm = 79, anchor_length_mm = 110: ",
    ),
    ({"min_member_mm": 89}, "hole_depth_mm = 90, min_member_mm = 89: expected h_1 ≤"),
    ({"bit_min_mm": 13, "bit_max_mm": 12.5}, "bit_min_mm = 13, bit_max_mm = 12.5: "),
    ({"bit_max_mm": 11.9}, "drill_diameter_mm = 12, bit_max_mm = 11.9: expected"),
    ({"torque_low_nm": 56}, "torque_low_nm = 56, setting_torque_nm = 55: expected low"),
    ({"torque_high_nm": 54}, "setting_torque_nm = 55, torque_high_nm = 54: expected"),
    ({"min_edge_mm": 86}, "min_edge_mm = 86, at_edge_mm = 85: expected c_min ≤ c_1"),
    (
        {"min_spacing_mm": 101},
        "min_spacing_mm = 101, at_spacing_mm = 100: expected s_min",
    ),
    ({"at_edge_mm": ""}, "at_spacing_mm = 100, at_edge_mm = blank: expected both or"),
]


@pytest.mark.parametrize(("row", "fault"), BROKEN_RULES)
def test_values_must_agree_with_each_other(
    tmp_path: Path, row: dict[str, object], fault: str
) -> None:
    store = build_store(tmp_path / "held")
    [failure] = load(store, write_setting_data(tmp_path, [row])).failures
    # The one fault and no other: the rules do not repeat each other.
    assert failure.removeprefix(f"{tmp_path / 'setting_data.csv'}: ").startswith(
        f"row 2: {fault}"
    )
    assert failure.count("row 2: ") == 1


def test_every_rule_has_a_case() -> None:
    for rule in RULES:
        named = [f"{name} = " for name in rule.columns]
        assert any(all(n in fault for n in named) for _, fault in BROKEN_RULES), rule


def test_values_at_the_limits_are_taken(tmp_path: Path) -> None:
    # 31 + 79 = 110; equality is allowed by every rule.
    row = {
        "embedment_mm": 79,
        "hole_depth_mm": 79,
        "min_member_mm": 79,
        "max_fixture_mm": 31,
        "bit_min_mm": 12,
        "bit_max_mm": 12,
        "torque_low_nm": 55,
        "torque_high_nm": 55,
        "min_edge_mm": 85,
        "min_spacing_mm": 100,
    }
    result = load(build_store(tmp_path / "held"), write_setting_data(tmp_path, [row]))
    assert result.failures == ()
    assert [receipt.revised for receipt in result.receipts] == [1]


def test_all_faults_are_listed_at_once(tmp_path: Path) -> None:
    store = build_store(tmp_path / "held")
    sheet = write_setting_data(
        tmp_path,
        [
            {"embedment_mm": "0", "hole_depth_mm": "10"},
            {"torque_low_nm": "x", "surplus": "1"},
        ],
    )
    [failure] = load(store, sheet).failures
    for fault in (
        "row 1: unknown columns: surplus",
        "row 2: embedment_mm = '0'",
        "row 2: nominal_embedment_mm = 79, hole_depth_mm = 10",
        "row 3: torque_low_nm = 'x'",
        "row 3: setting_code = 'M12-68': stands in row 2",
    ):
        assert fault in failure


def test_an_unreadable_value_is_one_fault(tmp_path: Path) -> None:
    """Not also the fault of a pair that lacks its second value."""
    store = build_store(tmp_path / "held")
    [failure] = load(
        store, write_setting_data(tmp_path, [{"at_edge_mm": "x"}])
    ).failures
    assert failure.endswith(
        "csv: row 2: at_edge_mm = 'x': expected a number of mm above 0, or with its "
        'unit, as 2 3/8", or blank'
    )


def test_sizes_are_kept_in_one_spelling(tmp_path: Path) -> None:
    # 25.4 mm an inch is exact (NIST SP 811): 1/2 in is 12.7 mm, 1 1/4 in 31.75 mm.
    sizes = {"A": "m12", "B": '1/2"', "C": "1/2", "D": '1 1/4"'}
    store = build_store(
        tmp_path,
        settings=[{"setting_code": c, "anchor_size": s} for c, s in sizes.items()],
    )
    with store.reader() as con:
        held = con.execute(
            "select anchor_size, diameter_mm from setting_data order by setting_code"
        ).fetchall()
    assert held == [("M12", 12.0), ("1/2", 12.7), ("1/2", 12.7), ("1 1/4", 31.75)]


def test_a_change_judges_the_installations_again(tmp_path: Path) -> None:
    # A hole of 92 mm conforms to 90 mm and not to 95 mm.
    store = build_store(
        tmp_path,
        [{}, {"setting_code": "OTHER"}],
        settings=[
            {},
            {"setting_code": "OTHER"},
        ],
    )
    changed = write_setting_data(
        tmp_path, [{"hole_depth_mm": 95}, {"setting_code": "OTHER"}]
    )
    [receipt] = load(store, changed, now=NOW).receipts
    assert (receipt.loaded, receipt.revised, receipt.duplicate) == (0, 1, 1)
    assert receipt.remarks == ["1 installation judged again, 1 verdict changed"]
    with store.reader() as con:
        rates = read_rates(con, [], Selection(check_names=("hole_depth",)))
        faults = con.execute(
            "select setting_code, nonconforming_mask from installation order by all"
        ).fetchall()
    assert rates.select("judged", "nonconforming").row(0) == (2, 1)
    assert [(code, mask > 0) for code, mask in faults] == [
        ("M12-68", True),
        ("OTHER", False),
    ]


def test_changed_verdicts_are_counted_by_anchor_and_check(tmp_path: Path) -> None:
    """By hand: h_1 90 → 95 mm and torque 55 → 60 Nm, ±10 % each (54 to 66 Nm).

    | row | depth | torque | hole depth        | setting torque     | changed |
    |-----|-------|--------|-------------------|--------------------|---------|
    | 1   | 92    | 55     | conforms → not    | conforms           | 1       |
    | 2   | 92    | 50     | conforms → not    | conforms → not     | 2       |
    | 3   | 96    | 62     | conforms          | not → conforms     | 1       |
    | 4   | blank | x      | unrecorded        | unreadable         | 0       |
    | 5   | 80    | 55     | abandoned: inapplicable before and after | 0    |
    """
    rows = [
        {"hole_depth_mm": 92, "setting_torque_nm": 55},
        {"hole_depth_mm": 92, "setting_torque_nm": 50},
        {"hole_depth_mm": 96, "setting_torque_nm": 62},
        {"hole_depth_mm": "", "setting_torque_nm": "x"},
        {"hole_depth_mm": 80, "outcome": "abandoned"},
    ]
    store = build_store(tmp_path, rows)
    changed = write_setting_data(
        tmp_path, [{"hole_depth_mm": 95, "setting_torque_nm": 60}]
    )
    [receipt] = load(store, changed).receipts
    assert receipt.remarks == ["5 installations judged again, 4 verdicts changed"]


def test_a_cleaning_that_the_hollow_bit_replaces_counts_as_changed(
    tmp_path: Path,
) -> None:
    # From nonconforming (no stroke, 2 asked) to inapplicable: one mask only is left.
    row = {
        "drill_method": "hollow_bit",
        "extraction_on": "yes",
        "brush_count": 0,
        "blow_count": 0,
    }
    store = build_store(tmp_path, [row])
    changed = write_setting_data(tmp_path, [{"extraction_replaces_cleaning": "true"}])
    [receipt] = load(store, changed).receipts
    assert receipt.remarks == ["1 installation judged again, 1 verdict changed"]


def test_the_same_sheet_again_changes_nothing(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    before = store.current_edition_id()
    result = load(store, tmp_path / "logs" / "setting_data.csv")
    assert [receipt.is_new for receipt in result.receipts] == [False]
    assert (result.edition_id, store.current_edition_id()) == (None, before)


# As a spreadsheet saves it where commas are decimal, letters are of Windows-1252 and
# the document is in inches; an inch is 25.4 mm, a pound-force 4.4482216152605 N, both
# exact (NIST SP 811, appendix B.8), so that 30 lbf·ft are 40.6745384... Nm.
def test_a_sheet_in_the_units_and_signs_of_its_document(tmp_path: Path) -> None:
    row = {
        "drill_diameter_mm": '1/2"',
        "bit_max_mm": "12,9",
        "embedment_mm": "2 3/8 in",
        "setting_torque_nm": "30 ft-lb",
        "torque_low_nm": "38,5",
        "torque_high_nm": "41 Nm",
        "min_concrete_mpa": "2500 psi",
        "max_tilt_deg": "5°",
        "document": "Prüfbericht",
    }
    sheet = write_setting_data(tmp_path, [row])
    sheet.write_bytes(sheet.read_text("utf-8").encode("cp1252"))
    store = build_store(tmp_path / "held", settings=[{"setting_code": "OTHER"}])
    [receipt] = load(store, sheet).receipts
    assert receipt.remarks == [NOT_UTF8]
    with store.reader() as con:
        [held] = con.execute(
            f"select {', '.join(row)} from setting_data where setting_code = 'M12-68'"
        ).fetchall()
    pounds_nm = Fraction("4.4482216152605") * 12 * Fraction("25.4") / 1000
    psi_mpa = Fraction("4.4482216152605") / Fraction("25.4") ** 2
    assert held == (
        12.7,
        12.9,
        60.325,
        float(30 * pounds_nm),
        38.5,
        41.0,
        float(2500 * psi_mpa),
        5.0,
        "Prüfbericht",
    )


def test_a_sheet_in_no_encoding_is_refused_in_words(tmp_path: Path) -> None:
    sheet = write_setting_data(tmp_path, [{"document": "X"}])
    # 81 hexadecimal is no letter of Windows-1252, and begins none of UTF-8.
    sheet.write_bytes(sheet.read_bytes().replace(b"X", b"\x81"))
    [failure] = load(build_store(tmp_path / "held"), sheet).failures
    assert failure.startswith(f"{sheet}: neither UTF-8, UTF-16 nor Windows-1252")


def test_the_manual_explains_each_column() -> None:
    """What may be blank stands in brackets; what is derived is in no file."""
    manual = (Path(__file__).parents[2] / ".readme/logs.md").read_text("utf-8")
    section = manual.partition("## The setting data")[2].partition("## ")[0]
    cells = re.findall(r"^\| (.*?) \|", section, re.MULTILINE)
    listed = [name for cell in cells for name in re.findall(r"\(?`\w+`\)?", cell)]
    assert listed == [
        f"(`{column.name}`)" if column.may_be_blank else f"`{column.name}`"
        for column in SHEET.file_columns()
    ]


def test_codes_that_no_log_tells_apart_are_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path / "store", settings=[{"setting_code": "DZ-M12"}])
    (tmp_path / "more").mkdir()
    again = write_setting_data(
        tmp_path / "more", [{"setting_code": "DZ M12"}, {"setting_code": "DZ-M16"}]
    )
    [receipt] = load(store, again).receipts
    [remark] = [line for line in receipt.remarks if "spelling" in line]
    assert remark.startswith("DZ M12 and DZ-M12 differ in spelling alone")
