"""The hole: depth, cleaning, the bit, tilt."""

from tests.queries.checks.case import Case

HOLE_DEPTH_CASES = [
    Case("hole_depth", {"hole_depth_mm": "90"}, "conforming", 0),
    Case("hole_depth", {"hole_depth_mm": "89.9"}, "nonconforming", -0.1, "shallow"),
    Case("hole_depth", {"hole_depth_mm": "90.1"}, "conforming", 0.1),
    Case("hole_depth", {"hole_depth_mm": ""}, "unrecorded"),
    Case("hole_depth", {"hole_depth_mm": "deep"}, "unreadable"),
    Case("hole_depth", {"hole_depth_mm": "-90"}, "unreadable"),
]


HOLLOW = {"drill_method": "hollow_bit", "extraction_on": "yes"}
NO_COUNTS = {"brush_count": "", "blow_count": ""}


# Two brush strokes and two blows required.
HOLE_CLEANING_CASES = [
    Case("hole_cleaning", {"brush_count": "2", "blow_count": "2"}, "conforming", 0),
    Case("hole_cleaning", {"brush_count": "1"}, "nonconforming", -1, "too little"),
    Case("hole_cleaning", {"blow_count": "0"}, "nonconforming", -2, "too little"),
    Case("hole_cleaning", {"blow_count": "5"}, "conforming", 0),
    Case("hole_cleaning", {"brush_count": ""}, "unrecorded"),
    Case(
        "hole_cleaning",
        {"brush_count": "", "blow_count": "1"},
        "nonconforming",
        -1,
        "too little",
    ),
    Case("hole_cleaning", NO_COUNTS | {"cleaned": "yes"}, "conforming"),
    Case(
        "hole_cleaning",
        NO_COUNTS | {"cleaned": "no"},
        "nonconforming",
        None,
        "too little",
    ),
    Case("hole_cleaning", NO_COUNTS, "unrecorded"),
    Case("hole_cleaning", {"brush_count": "some"}, "unreadable"),
    Case("hole_cleaning", {"brush_count": "some", "cleaned": "yes"}, "unreadable"),
    # A hollow bit replaces cleaning only where the setting data say so, and only
    # while its extraction runs (common practice, no source).
    Case("hole_cleaning", HOLLOW | NO_COUNTS, "unrecorded"),
    Case(
        "hole_cleaning",
        HOLLOW | NO_COUNTS,
        "inapplicable",
        setting={"extraction_replaces_cleaning": "true"},
    ),
    Case(
        "hole_cleaning",
        HOLLOW | NO_COUNTS | {"extraction_on": "no"},
        "unrecorded",
        setting={"extraction_replaces_cleaning": "true"},
    ),
    Case(
        "hole_cleaning",
        NO_COUNTS,
        "inapplicable",
        setting={"brushes_required": "0", "blows_required": "0"},
    ),
    Case(
        "hole_cleaning",
        {"brush_count": "", "blow_count": "2"},
        "conforming",
        0,
        setting={"brushes_required": "0"},
    ),
]


# No limits in the setting data: the usual ones of a 12 mm bit, 12.10 to 12.50 mm (from
# memory of European test practice).
DRILL_BIT_CASES = [
    Case("drill_bit", {"bit_diameter_mm": "12.1"}, "conforming", 0),
    Case("drill_bit", {"bit_diameter_mm": "12.11"}, "conforming", 0.01),
    Case(
        "drill_bit", {"bit_diameter_mm": "12.09"}, "nonconforming", -0.01, "undersize"
    ),
    Case("drill_bit", {"bit_diameter_mm": "12.5"}, "conforming", 0),
    Case("drill_bit", {"bit_diameter_mm": "12.49"}, "conforming", 0.01),
    Case("drill_bit", {"bit_diameter_mm": "12.51"}, "nonconforming", -0.01, "oversize"),
    Case("drill_bit", {"bit_diameter_mm": ""}, "unrecorded"),
    Case("drill_bit", {"bit_worn": "yes"}, "nonconforming", None, "worn"),
    # What was logged of the bit does not hide which way its diameter is off.
    Case(
        "drill_bit",
        {"bit_diameter_mm": "12", "bit_worn": "yes"},
        "nonconforming",
        -0.1,
        "undersize",
    ),
    Case(
        "drill_bit",
        {"bit_diameter_mm": "12.3", "bit_worn": "yes"},
        "nonconforming",
        None,
        "worn",
    ),
    # That a bit is not worn says nothing of its diameter.
    Case("drill_bit", {"bit_worn": "no"}, "unrecorded"),
    Case("drill_bit", {"bit_diameter_mm": "12.3", "bit_worn": "no"}, "conforming", 0.2),
    Case("drill_bit", {"bit_diameter_mm": "12.3", "bit_worn": "bit"}, "unreadable"),
    Case("drill_bit", {"bit_diameter_mm": "thin"}, "unreadable"),
    # The setting data's own limits go before the usual ones.
    Case(
        "drill_bit",
        {"bit_diameter_mm": "12.12"},
        "nonconforming",
        -0.03,
        "undersize",
        {"bit_min_mm": "12.15"},
    ),
    # No bit of 9 mm is in the usual table.
    Case(
        "drill_bit",
        {"bit_diameter_mm": "9"},
        "inapplicable",
        setting={"drill_diameter_mm": "9"},
    ),
]
# Nominal diameter, smallest and largest of the usual limits, mm; inch sizes in inches
# after ACI 355.2 and ANSI B212.15, all from memory.
USUAL_BITS = [
    *(("5", "5.05", "5.40"), ("6", "6.05", "6.40"), ("8", "8.05", "8.45")),
    *(("10", "10.10", "10.45"), ("14", "14.10", "14.50"), ("18", "18.10", "18.50")),
    *(("20", "20.10", "20.55"), ("25", "25.10", "25.55"), ("32", "32.15", "32.70")),
    *(
        (f"{25.4 * nominal:.4f}", f"{25.4 * low:.4f}", f"{25.4 * high:.4f}")
        for nominal, low, high in (
            (1 / 4, 0.252, 0.268),
            (3 / 8, 0.381, 0.398),
            (1 / 2, 0.510, 0.530),
            (5 / 8, 0.639, 0.660),
            (3 / 4, 0.764, 0.787),
            (1, 1.017, 1.042),
        )
    ),
]
USUAL_BIT_CASES = [
    Case(
        "drill_bit",
        {"bit_diameter_mm": f"{float(limit) + step:.4f}"},
        "conforming" if step * inward >= 0 else "nonconforming",
        step * inward,
        None if step * inward >= 0 else word,
        {"drill_diameter_mm": nominal},
    )
    for nominal, low, high in USUAL_BITS
    for limit, inward, word in ((low, 1, "undersize"), (high, -1, "oversize"))
    for step in (-0.01, 0, 0.01)
]

TILT_CASES = [
    Case("tilt", {"tilt_deg": "5"}, "conforming", 0),
    Case("tilt", {"tilt_deg": "4.9"}, "conforming", 0.1),
    Case("tilt", {"tilt_deg": "5.1"}, "nonconforming", -0.1, "tilted"),
    Case("tilt", {"tilt_deg": ""}, "unrecorded"),
    Case("tilt", {"tilt_deg": "upright"}, "unreadable"),
    Case("tilt", {"tilt_deg": "9"}, "inapplicable", setting={"max_tilt_deg": ""}),
]
