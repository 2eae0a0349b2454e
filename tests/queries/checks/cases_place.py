"""Where the anchor sits: edge, spacing, member and material."""

from tests.queries.checks.case import Case


def edge(c: str, s: str, **more: str) -> dict[str, str]:
    return {"edge_1_mm": c, "spacing_mm": s} | more


# The pair c_min 65 at s >= 100, s_min 60 at c >= 85; worked numbers of the usual form
# of European assessments (from memory): c 75 asks for s 80; 78 fails; c 90 at 60 holds;
# c 64 fails at any spacing. The margin is in millimetres of edge: at s 78 the edge has
# to be 65 + (100 - 78)(85 - 65)/(100 - 60) = 76 mm.
EDGE_DISTANCE_CASES = [
    Case("edge_distance", edge("75", "80"), "conforming", 0),
    Case("edge_distance", edge("75", "78"), "nonconforming", -1, "close"),
    Case("edge_distance", edge("90", "60"), "conforming", 5),
    Case("edge_distance", edge("64", "500"), "nonconforming", -1, "close"),
    Case("edge_distance", edge("65", "100"), "conforming", 0),
    Case("edge_distance", edge("64.9", "100"), "nonconforming", -0.1, "close"),
    # Without interpolation one of the two pairs must be met outright.
    Case(
        "edge_distance",
        edge("75", "80"),
        "nonconforming",
        -10,
        "close",
        {"edge_spacing_interpolates": "false"},
    ),
    # Spacing not logged: below c_min it fails, from c_1 on it conforms, between
    # them the spacing would have decided.
    Case("edge_distance", edge("64", ""), "nonconforming", -1, "close"),
    Case("edge_distance", edge("85", ""), "conforming", 0),
    Case("edge_distance", edge("75", ""), "unrecorded"),
    # "clear" is an entry, a blank is none; the nearest of two edges counts.
    Case("edge_distance", edge("clear", ""), "conforming", float("inf")),
    Case("edge_distance", edge("65", "clear"), "conforming", 0),
    Case("edge_distance", edge("", "200"), "unrecorded"),
    Case(
        "edge_distance",
        edge("120", "200", edge_2_mm="64"),
        "nonconforming",
        -1,
        "close",
    ),
    Case("edge_distance", edge("near", "200"), "unreadable"),
    # One readable edge is not enough for a pass, but enough for a fault.
    Case("edge_distance", edge("120", "200", edge_2_mm="near"), "unreadable"),
    Case(
        "edge_distance",
        edge("60", "200", edge_2_mm="near"),
        "nonconforming",
        -5,
        "close",
    ),
    # Setting data without a pair: the minimum edge alone.
    Case(
        "edge_distance",
        edge("65", ""),
        "conforming",
        0,
        setting={"at_edge_mm": "", "at_spacing_mm": ""},
    ),
]


# The same pair, seen from the spacing: c 75 asks for s 80; c 65 for 100; c 85 for 60.
# The margin is in millimetres of spacing.
SPACING_CASES = [
    Case("spacing", edge("75", "80"), "conforming", 0),
    Case("spacing", edge("75", "80.1"), "conforming", 0.1),
    Case("spacing", edge("75", "78"), "nonconforming", -2, "close"),
    Case("spacing", edge("90", "60"), "conforming", 0),
    Case("spacing", edge("90", "59.9"), "nonconforming", -0.1, "close"),
    Case("spacing", edge("65", "100"), "conforming", 0),
    Case("spacing", edge("65", "99.9"), "nonconforming", -0.1, "close"),
    # An edge below c_min is the edge's own fault; the spacing is then held to s_1.
    Case("spacing", edge("64", "100"), "conforming", 0),
    Case("spacing", edge("64", "99"), "nonconforming", -1, "close"),
    # Without interpolation one of the two pairs must be met outright.
    Case(
        "spacing",
        edge("75", "80"),
        "nonconforming",
        -20,
        "close",
        {"edge_spacing_interpolates": "false"},
    ),
    Case(
        "spacing",
        edge("85", "60"),
        "conforming",
        0,
        setting={"edge_spacing_interpolates": "false"},
    ),
    # Edge not logged: below s_min it fails, from s_1 on it conforms, between them the
    # edge would have decided.
    Case("spacing", edge("", "59"), "nonconforming", -1, "close"),
    Case("spacing", edge("", "100"), "conforming", 0),
    Case("spacing", edge("", "80"), "unrecorded"),
    # The nearest of two edges counts; "clear" is an entry, a blank is none.
    Case("spacing", edge("120", "78", edge_2_mm="75"), "nonconforming", -2, "close"),
    Case("spacing", edge("clear", "60"), "conforming", 0),
    Case("spacing", edge("65", "clear"), "conforming", float("inf")),
    Case("spacing", edge("75", ""), "unrecorded"),
    Case("spacing", edge("75", "far"), "unreadable"),
    # An edge that cannot be read may be nearer than the one that can.
    Case("spacing", edge("90", "70", edge_2_mm="near"), "unreadable"),
    Case("spacing", edge("90", "100", edge_2_mm="near"), "conforming", 40),
    Case("spacing", edge("90", "59", edge_2_mm="near"), "nonconforming", -1, "close"),
    # Setting data without a pair: the minimum spacing alone.
    Case(
        "spacing",
        edge("65", "60"),
        "conforming",
        0,
        setting={"at_edge_mm": "", "at_spacing_mm": ""},
    ),
    Case(
        "spacing",
        edge("", "60"),
        "conforming",
        0,
        setting={"at_edge_mm": "", "at_spacing_mm": ""},
    ),
]

MEMBER_THICKNESS_CASES = [
    Case("member_thickness", {"member_thickness_mm": "140"}, "conforming", 0),
    Case("member_thickness", {"member_thickness_mm": "140.1"}, "conforming", 0.1),
    Case(
        "member_thickness",
        {"member_thickness_mm": "139.9"},
        "nonconforming",
        -0.1,
        "thin",
    ),
    Case("member_thickness", {"member_thickness_mm": ""}, "unrecorded"),
    Case("member_thickness", {"member_thickness_mm": "slab"}, "unreadable"),
    Case(
        "member_thickness",
        {"member_thickness_mm": "60"},
        "inapplicable",
        setting={"min_member_mm": ""},
    ),
]

CONCRETE = {"base_materials": "CRACKED;UNCRACKED", "min_concrete_mpa": "25"}


def concrete(material: str, strength: str) -> dict[str, str]:
    return {"base_material": material, "concrete_mpa": strength}


BASE_MATERIAL_CASES = [
    Case("base_material", row, verdict, margin, direction, setting)
    for row, verdict, margin, direction, setting in (
        (concrete("CRACKED", "25"), "conforming", 0, None, CONCRETE),
        (concrete("CRACKED", "25.1"), "conforming", 0.1, None, CONCRETE),
        (concrete("uncracked", "24.9"), "nonconforming", -0.1, "weak", CONCRETE),
        (concrete("BRICK", "30"), "nonconforming", None, "other material", CONCRETE),
        # A code within another one is not that code.
        (concrete("CRACK", "30"), "nonconforming", None, "other material", CONCRETE),
        (concrete("BRICK", ""), "nonconforming", None, "other material", CONCRETE),
        (concrete("", "24"), "nonconforming", -1, "weak", CONCRETE),
        (concrete("", "30"), "unrecorded", None, None, CONCRETE),
        (concrete("CRACKED", ""), "unrecorded", None, None, CONCRETE),
        (concrete("CRACKED", "hard"), "unreadable", None, None, CONCRETE),
        (concrete("BRICK", "25"), "conforming", 0, None, {"min_concrete_mpa": "25"}),
        (concrete("BRICK", "9"), "inapplicable", None, None, {}),
    )
]
