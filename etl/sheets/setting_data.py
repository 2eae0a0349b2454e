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
    SheetColumn(
        "setting_code", CODE, what="your name for this row, which the logs give"
    ),
    SheetColumn("anchor_type_code", CODE, what="the type as an installer would log it"),
    SheetColumn("material", TEXT, may_be_blank=True, what="as zinc plated"),
    SheetColumn("anchor_size", SIZE, what="the thread"),
    SheetColumn("diameter_mm", LENGTH_MM, if_blank=_diameter_mm, is_derived=True),
    SheetColumn("drill_diameter_mm", LENGTH_MM, what="d₀, nominal diameter of the bit"),
    SheetColumn(
        "bit_min_mm",
        LENGTH_MM,
        may_be_blank=True,
        what="d_cut, the least that a bit's cutting edge may measure",
    ),
    SheetColumn(
        "bit_max_mm",
        LENGTH_MM,
        may_be_blank=True,
        what="d_cut, the most that a bit's cutting edge may measure",
    ),
    SheetColumn("embedment_mm", LENGTH_MM, what="h_ef, effective embedment"),
    SheetColumn(
        "nominal_embedment_mm",
        LENGTH_MM,
        what="h_nom, embedment down to the bolt's tip",
    ),
    SheetColumn("hole_depth_mm", LENGTH_MM, what="h₁, depth of the hole"),
    SheetColumn("anchor_length_mm", LENGTH_MM, what="L, whole length of the bolt"),
    SheetColumn(
        "length_mark",
        CODE,
        may_be_blank=True,
        what="the letter on its head, where lengths are marked",
    ),
    SheetColumn(
        "max_fixture_mm",
        LENGTH_MM,
        what="t_fix, the thickest fixture, packing included",
    ),
    SheetColumn("setting_torque_nm", TORQUE_NM, what="T_inst"),
    SheetColumn(
        "torque_low_nm",
        TORQUE_NM,
        may_be_blank=True,
        what="lower end of the band that the document gives; blank: 10 % below",
    ),
    SheetColumn(
        "torque_high_nm",
        TORQUE_NM,
        may_be_blank=True,
        what="upper end of the band that the document gives; blank: 10 % above",
    ),
    SheetColumn("min_edge_mm", LENGTH_MM, what="c_min, smallest edge distance"),
    SheetColumn(
        "at_spacing_mm",
        LENGTH_MM,
        may_be_blank=True,
        what="s₁, the spacing from which on c_min holds",
    ),
    SheetColumn("min_spacing_mm", LENGTH_MM, what="s_min, smallest spacing"),
    SheetColumn(
        "at_edge_mm",
        LENGTH_MM,
        may_be_blank=True,
        what="c₁, the edge distance from which on s_min holds",
    ),
    SheetColumn(
        "edge_spacing_interpolates",
        YES_NO,
        what="whether the document interpolates between these two pairs",
    ),
    SheetColumn(
        "min_member_mm", LENGTH_MM, may_be_blank=True, what="h_min, thinnest concrete"
    ),
    SheetColumn(
        "min_concrete_mpa",
        STRENGTH_MPA,
        may_be_blank=True,
        what="lowest strength, as your logs have it (cube or cylinder)",
    ),
    SheetColumn(
        "max_tilt_deg", ANGLE, may_be_blank=True, what="largest deviation from square"
    ),
    SheetColumn("brushes_required", COUNT, what="strokes of the brush; 0 where none"),
    SheetColumn(
        "blows_required", COUNT, what="strokes of the pump or of air; 0 where none"
    ),
    SheetColumn(
        "extraction_replaces_cleaning",
        YES_NO,
        what="whether a hollow bit with extraction replaces cleaning",
    ),
    SheetColumn(
        "base_materials",
        CODES,
        may_be_blank=True,
        what="those allowed, as your logs name them",
    ),
    SheetColumn("document", TEXT, what="which document this is from, with its date"),
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
