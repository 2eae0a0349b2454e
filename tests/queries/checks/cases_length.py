"""Anchor length, measured and by its letter, fixture thickness and embedment."""

from tests.queries.checks.case import Case

# 110 mm specified, 1 mm either way allowed (common practice, no source).
ANCHOR_LENGTH_CASES = [
    Case("anchor_length", {"anchor_length_mm": "109"}, "conforming", 0),
    Case(
        "anchor_length", {"anchor_length_mm": "108.9"}, "nonconforming", -0.1, "short"
    ),
    Case("anchor_length", {"anchor_length_mm": "111"}, "conforming", 0),
    Case("anchor_length", {"anchor_length_mm": "111.1"}, "nonconforming", -0.1, "long"),
    Case("anchor_length", {"anchor_length_mm": ""}, "unrecorded"),
    Case("anchor_length", {"anchor_length_mm": "ca. 110"}, "unreadable"),
    Case("anchor_length", {"outcome": "abandoned"}, "inapplicable"),
]


# Marks are intervals (US practice, from memory): E 88.9-101.6 mm, F 101.6-114.3 mm,
# G 114.3-127 mm. Against 110 mm: E lies below 109, G above 111, F holds both answers.
INCH = {"anchor_size": "1/2"}
MARK_CASES = [
    Case(
        "anchor_length",
        {"anchor_length_mm": "", "length_mark": mark},
        verdict,
        None,
        direction,
        {"length_mark": specified} | more,
    )
    for mark, specified, more, verdict, direction in (
        ("E", "F", {}, "nonconforming", "short"),
        ("G", "F", {}, "nonconforming", "long"),
        ("F", "F", {}, "conforming", None),
        ("?", "F", {}, "unrecorded", None),
        # An inch size without a mark of its own is marked as is usual for it.
        ("E", "", INCH, "nonconforming", "short"),
        ("F", "", INCH, "unrecorded", None),
        # F begins at 101.6 mm, which is 1 mm more than 100.6: not wholly too long.
        ("F", "", INCH | {"anchor_length_mm": "100.6"}, "unrecorded", None),
        ("F", "", INCH | {"anchor_length_mm": "100.5"}, "nonconforming", "long"),
        # Metric marks are the maker's: other letters say nothing.
        ("E", "", {}, "unrecorded", None),
        ("E", "A", {}, "unrecorded", None),
        ("A", "A", {}, "conforming", None),
    )
]


# Worked by hand: 110 - (20 + packing) - u is in the concrete; h_ef,act is that less
# 79 - 68 = 11 mm. With u = 11: 79 - 11 = 68 mm, the limit.
EMBEDMENT_CASES = [
    Case("embedment", {"projection_mm": "11"}, "conforming", 0),
    Case("embedment", {"projection_mm": "11.1"}, "nonconforming", -0.1, "shallow"),
    Case("embedment", {"projection_mm": "10.9"}, "conforming", 0.1),
    # Every millimetre of packing is one of embedment lost.
    Case("embedment", {"packing_mm": "18"}, "nonconforming", -18, "shallow"),
    # A measurement goes before a derivation.
    Case("embedment", {"embedment_mm": "70", "packing_mm": "18"}, "conforming", 2),
    # Packing unknown: at 0 mm it would conform, so nothing is known...
    Case("embedment", {"packing_mm": ""}, "unrecorded"),
    # ... but with 1 mm too little even without packing, it cannot conform.
    Case(
        "embedment",
        {"packing_mm": "", "projection_mm": "12"},
        "nonconforming",
        None,
        "shallow",
    ),
    Case("embedment", {"projection_mm": ""}, "unrecorded"),
    Case("embedment", {"projection_mm": "two turns"}, "unreadable"),
]


# Letter F: 101.6 to under 114.3 mm. 20 of fixture, no packing, u = 10.3 and 11 mm to
# the tip: h_ef from 60.3 to under 73 mm, which holds 68. With u = 3: from 67.6; with
# u = 2.6 from 68 mm, all of it enough; with u = 15.3 to under 68 mm, none of it.
EMBEDMENT_BY_INCH = {"anchor_size": "1/2"}
MARK_CASES = [
    Case(
        "embedment",
        {"anchor_length_mm": "", "length_mark": "F", "projection_mm": projection}
        | more,
        verdict,
        None,
        direction,
        INCH,
    )
    for projection, more, verdict, direction in (
        ("10.3", {}, "unrecorded", None),
        ("3", {}, "unrecorded", None),
        ("2.6", {}, "conforming", None),
        ("15.3", {}, "nonconforming", "shallow"),
        ("15.2", {}, "unrecorded", None),
        ("15.3", {"packing_mm": ""}, "nonconforming", "shallow"),
        ("2.6", {"packing_mm": ""}, "unrecorded", None),
    )
]


def clamped(fixture: str, packing: str, **more: str) -> dict[str, str]:
    return {"fixture_thickness_mm": fixture, "packing_mm": packing} | more


# 20 mm allowed with the specified 110 mm. An anchor of 100 mm has 10 mm less to clamp
# (plain geometry: t_fix,max = L - h_nom - washer - nut - thread).
FIXTURE_THICKNESS_CASES = [
    Case("fixture_thickness", clamped("20", "0"), "conforming", 0),
    Case("fixture_thickness", clamped("19.9", "0"), "conforming", 0.1),
    Case("fixture_thickness", clamped("20.1", "0"), "nonconforming", -0.1, "thick"),
    Case("fixture_thickness", clamped("15", "5.1"), "nonconforming", -0.1, "thick"),
    # Packing that was not logged may be none, or any: a blank is no zero.
    Case("fixture_thickness", clamped("15", ""), "unrecorded"),
    Case("fixture_thickness", clamped("20.1", ""), "nonconforming", None, "thick"),
    Case("fixture_thickness", clamped("", "21"), "nonconforming", None, "thick"),
    Case("fixture_thickness", clamped("thin", "0"), "unreadable"),
    # An anchor within 1 mm of its length is the specified one.
    Case(
        "fixture_thickness", clamped("20", "0", anchor_length_mm="109"), "conforming", 0
    ),
    Case(
        "fixture_thickness", clamped("10", "0", anchor_length_mm="100"), "conforming", 0
    ),
    Case(
        "fixture_thickness",
        clamped("10", "0.1", anchor_length_mm="100"),
        "nonconforming",
        -0.1,
        "thick",
    ),
    Case("fixture_thickness", clamped("10", "0", anchor_length_mm=""), "unrecorded"),
    # Letter F, 101.6 to under 114.3 mm, allows from 11.6 to under 24.3 mm.
    *(
        Case(
            "fixture_thickness",
            clamped(fixture, "0", anchor_length_mm="", length_mark="F"),
            verdict,
            None,
            direction,
            INCH,
        )
        for fixture, verdict, direction in (
            ("11.6", "conforming", None),
            ("11.7", "unrecorded", None),
            ("24.2", "unrecorded", None),
            ("24.3", "nonconforming", "thick"),
        )
    ),
    Case(
        "fixture_thickness",
        clamped("20", "0", anchor_length_mm="", length_mark="F"),
        "conforming",
        0,
        setting={"length_mark": "F"},
    ),
]

# (h_ef,act / h_ef)^1.5: the share of the concrete cone's capacity that is left at 95,
# 90, 80 and 70 % of the embedment, plain arithmetic of EN 1992-4 7.2.1.4. 100 mm
# required; packing of (1 - share) * 100 mm was not counted.
CONE_RATIOS = {0.95: 0.926, 0.90: 0.854, 0.80: 0.716, 0.70: 0.586}
CONE_SETTING = {
    "embedment_mm": 100,
    "nominal_embedment_mm": 118,
    "hole_depth_mm": 130,
    "anchor_length_mm": 150,
}
CONE_CASES = [
    Case(
        "embedment",
        {
            "anchor_length_mm": "150",
            "hole_depth_mm": "131",
            "projection_mm": "12",
            "packing_mm": f"{100 * (1 - share):.0f}",
        },
        "nonconforming",
        round(100 * share - 100),
        "shallow",
        CONE_SETTING,
    )
    for share in CONE_RATIOS
]
