"""The invented setting data: consistent, and varied enough to show every rule."""

import re
from pathlib import Path

import polars as pl
import pytest

from demo_data.setting import read_setting_data

SETTING_DATA = read_setting_data()
TABLES_SQL = Path(__file__).parents[2] / "queries" / "tables.sql"

# trade-facts section 12 (invented): size, h_ef, h_nom, h_1, torque, c_min at s_1,
# s_min at c_1, member. They are the zinc plated anchors of the shallower embedment.
SECTION_12 = [
    ("M6", 40, 46, 55, 7, 40, 60, 35, 50, 80),
    ("M8", 46, 54, 62, 18, 45, 70, 40, 60, 100),
    ("M10", 58, 67, 76, 38, 55, 85, 50, 70, 120),
    ("M12", 68, 79, 90, 55, 65, 100, 60, 85, 140),
    ("M16", 84, 98, 111, 105, 80, 125, 75, 105, 170),
    ("M20", 98, 116, 132, 190, 100, 150, 95, 130, 200),
    ("M24", 122, 143, 160, 270, 125, 185, 115, 155, 250),
]


def _offending(rule: pl.Expr) -> list[str]:
    return SETTING_DATA.filter(~rule)["setting_code"].to_list()


def test_columns_are_those_of_the_table() -> None:
    table = TABLES_SQL.read_text("utf-8").split("create table setting_data (")[1]
    names = re.findall(r"^    (\w+) ", table.split(");")[0], re.MULTILINE)
    filled_by_the_load = {"diameter_mm", "source_file_id", "source_row"}
    assert SETTING_DATA.columns == [n for n in names if n not in filled_by_the_load]


@pytest.mark.parametrize("row", SECTION_12, ids=lambda row: row[0])
def test_section_12_is_kept(row: tuple[str | int, ...]) -> None:
    size, h_ef, *rest = row
    found = SETTING_DATA.filter(
        pl.col("anchor_size") == size,
        pl.col("embedment_mm") == h_ef,
        pl.col("material") == "zinc plated",
    ).select(
        "nominal_embedment_mm",
        "hole_depth_mm",
        "setting_torque_nm",
        "min_edge_mm",
        "at_spacing_mm",
        "min_spacing_mm",
        "at_edge_mm",
        "min_member_mm",
    )
    assert found.rows() == [tuple(rest)]


def test_every_row_is_consistent() -> None:
    col = pl.col
    band_low, band_high = col("torque_low_nm"), col("torque_high_nm")
    rules = {
        "positive": pl.all_horizontal(pl.selectors.float() > 0),
        "h_nom >= h_ef": col("nominal_embedment_mm") >= col("embedment_mm"),
        "h_1 >= h_nom": col("hole_depth_mm") >= col("nominal_embedment_mm"),
        "low <= torque": (band_low <= col("setting_torque_nm")).fill_null(value=True),
        "torque <= high": (col("setting_torque_nm") <= band_high).fill_null(value=True),
        "both or none": band_low.is_null() == band_high.is_null(),
        "anchor reaches": col("anchor_length_mm")
        > col("nominal_embedment_mm") + col("max_fixture_mm"),
        "pair A to B": (col("min_edge_mm") <= col("at_edge_mm"))
        & (col("min_spacing_mm") <= col("at_spacing_mm")),
        "bit": (col("drill_diameter_mm") <= col("bit_min_mm"))
        & (col("bit_min_mm") < col("bit_max_mm")),
        "member": col("min_member_mm") > col("nominal_embedment_mm"),
        "says so": col("document").str.contains("invented for demonstration"),
    }
    broken = {
        name: codes for name, rule in rules.items() if (codes := _offending(rule))
    }
    assert broken == {}
    assert SETTING_DATA["setting_code"].is_unique().all()


def test_length_mark_holds_the_length() -> None:
    """Letters of trade-facts section 6; further than 1 mm inside their interval."""
    for mark, length_mm in SETTING_DATA.select(
        "length_mark", "anchor_length_mm"
    ).rows():
        number = ord(mark) - ord("A")
        assert number <= ord("Q") - ord("A"), "whole inches from R on are not used"
        from_mm = 25.4 * (1.5 + 0.5 * number)
        assert from_mm + 1 < length_mm < from_mm + 12.7 - 1


def test_torque_cannot_be_inferred_from_size_and_length() -> None:
    torques = SETTING_DATA.group_by("anchor_size", "anchor_length_mm").agg(
        pl.col("setting_torque_nm").n_unique()
    )
    assert torques["setting_torque_nm"].max() == 2


@pytest.mark.parametrize(
    "rule",
    [
        pl.col("torque_low_nm").is_null(),
        pl.col("edge_spacing_interpolates"),
        pl.col("extraction_replaces_cleaning"),
        pl.col("brushes_required") == 0,
        pl.col("brushes_required") + pl.col("blows_required") == 0,
        pl.col("anchor_size").str.contains("/"),
    ],
)
def test_rows_of_either_kind_are_there(rule: pl.Expr) -> None:
    assert SETTING_DATA.select(rule).to_series().unique().sort().to_list() == [
        False,
        True,
    ]
