"""Setting data: the published parameters that installations are judged by.

Refused whole where anything is wrong: a wrong limit would misjudge every anchor set
by it.
"""

from etl.sheets.declaration import Row, Rule, Sheet, SheetColumn, in_order
from etl.sheets.kinds import (
    ANGLE,
    CODE,
    CODES,
    COUNT,
    LENGTH_MM,
    SIZE,
    STRENGTH_MPA,
    TEXT,
    TORQUE_NM,
    YES_NO,
    Value,
    size_mm,
)


def _diameter_mm(row: Row) -> Value:
    size = row["anchor_size"]
    return None if size is None else size_mm(str(size))


def _fits(part: float, other_part: float, whole: float) -> bool:
    # To a millionth of a millimetre, as margins are: 1.25 in + 2.375 in is not exact.
    return round(part + other_part - whole, 6) <= 0


COLUMNS = (
    SheetColumn("setting_code", CODE),
    SheetColumn("anchor_type_code", CODE),
    SheetColumn("material", TEXT, may_be_blank=True),
    SheetColumn("anchor_size", SIZE),
    SheetColumn("diameter_mm", LENGTH_MM, if_blank=_diameter_mm, is_derived=True),
    SheetColumn("drill_diameter_mm", LENGTH_MM),
    SheetColumn("bit_min_mm", LENGTH_MM, may_be_blank=True),
    SheetColumn("bit_max_mm", LENGTH_MM, may_be_blank=True),
    SheetColumn("embedment_mm", LENGTH_MM),
    SheetColumn("nominal_embedment_mm", LENGTH_MM),
    SheetColumn("hole_depth_mm", LENGTH_MM),
    SheetColumn("anchor_length_mm", LENGTH_MM),
    SheetColumn("length_mark", CODE, may_be_blank=True),
    SheetColumn("max_fixture_mm", LENGTH_MM),
    SheetColumn("setting_torque_nm", TORQUE_NM),
    SheetColumn("torque_low_nm", TORQUE_NM, may_be_blank=True),
    SheetColumn("torque_high_nm", TORQUE_NM, may_be_blank=True),
    SheetColumn("min_edge_mm", LENGTH_MM),
    SheetColumn("at_spacing_mm", LENGTH_MM, may_be_blank=True),
    SheetColumn("min_spacing_mm", LENGTH_MM),
    SheetColumn("at_edge_mm", LENGTH_MM, may_be_blank=True),
    SheetColumn("edge_spacing_interpolates", YES_NO),
    SheetColumn("min_member_mm", LENGTH_MM, may_be_blank=True),
    SheetColumn("min_concrete_mpa", STRENGTH_MPA, may_be_blank=True),
    SheetColumn("max_tilt_deg", ANGLE, may_be_blank=True),
    SheetColumn("brushes_required", COUNT),
    SheetColumn("blows_required", COUNT),
    SheetColumn("extraction_replaces_cleaning", YES_NO),
    SheetColumn("base_materials", CODES, may_be_blank=True),
    SheetColumn("document", TEXT),
)

# Geometry of the anchor in its hole (EN 1992-4 and ACI 318 terms), or the plain meaning
# of a band, a minimum and a maximum.
RULES = (
    Rule(
        ("embedment_mm", "nominal_embedment_mm"),
        in_order,
        "h_ef ≤ h_nom: the effective embedment ends above the anchor's tip",
    ),
    Rule(
        ("nominal_embedment_mm", "hole_depth_mm"),
        in_order,
        "h_nom ≤ h_1: the hole takes the anchor's whole embedded part",
    ),
    Rule(
        ("max_fixture_mm", "nominal_embedment_mm", "anchor_length_mm"),
        _fits,
        "fixture + h_nom ≤ length: the anchor reaches through its thickest fixture",
    ),
    Rule(
        ("hole_depth_mm", "min_member_mm"),
        in_order,
        "h_1 ≤ thinnest member: the hole ends inside it",
    ),
    Rule(("bit_min_mm", "bit_max_mm"), in_order, "smallest ≤ largest bit"),
    Rule(
        ("drill_diameter_mm", "bit_max_mm"),
        in_order,
        "nominal diameter ≤ largest bit: a bit's cutting edge exceeds its nominal size",
    ),
    Rule(("torque_low_nm", "setting_torque_nm"), in_order, "low ≤ torque"),
    Rule(("setting_torque_nm", "torque_high_nm"), in_order, "torque ≤ high"),
    Rule(("min_edge_mm", "at_edge_mm"), in_order, "c_min ≤ c_1"),
    Rule(("min_spacing_mm", "at_spacing_mm"), in_order, "s_min ≤ s_1"),
    Rule(
        ("at_spacing_mm", "at_edge_mm"),
        lambda spacing, edge: (spacing is None) == (edge is None),
        "both or neither: s_1 goes with c_min, c_1 with s_min",
        asks_blanks=True,
    ),
)

SHEET = Sheet(
    name="setting_data",
    table="setting_data",
    content="setting data",
    columns=COLUMNS,
    key=("setting_code",),
    rules=RULES,
    is_refused_whole=True,
    judging_column="setting_code",
    is_indispensable=True,
)
