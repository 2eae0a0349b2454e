"""The numbers of the model: how often things go wrong, how long drilling takes."""

# Probability that an anchor is nonconforming where nothing else is planted. Invented;
# 1 to 4 % as trade-facts section 12 proposes. Holes and torque get harder with size:
# that is what lets a site with big anchors look worse than it is.
FLAT_BACKGROUND = {
    "anchor_length": 0.012,
    "embedment": 0.020,
    "hole_cleaning": 0.025,
    "edge_distance": 0.020,
}
SIZED_BACKGROUND = {
    "hole_depth": {
        **{"M6": 0.012, "M8": 0.014, "M10": 0.016, "M12": 0.020},
        **{"M16": 0.026, "M20": 0.032, "M24": 0.038},
        **{"3/8": 0.016, "1/2": 0.020, "5/8": 0.026},
    },
    "setting_torque": {
        **{"M6": 0.012, "M8": 0.014, "M10": 0.017, "M12": 0.020},
        **{"M16": 0.028, "M20": 0.034, "M24": 0.040},
        **{"3/8": 0.017, "1/2": 0.020, "5/8": 0.028},
    },
}
ANCHOR_SIZES = tuple(SIZED_BACKGROUND["hole_depth"])
BACKGROUND = {
    check: dict.fromkeys(ANCHOR_SIZES, rate) for check, rate in FLAT_BACKGROUND.items()
} | SIZED_BACKGROUND
CHECK_NAMES = (
    "anchor_length",
    "hole_depth",
    "embedment",
    "hole_cleaning",
    "edge_distance",
    "setting_torque",
)

# Probability of a fault in what is seldom looked at, in all sizes alike. Invented. Of
# bit and tilt: where they were measured; of spacing: where no edge is near.
LESSER_BACKGROUND = {
    "anchor_type": 0.003,
    "drill_bit": 0.005,
    "member_thickness": 0.004,
    "base_material": 0.004,
    "spacing": 0.006,
    "tilt": 0.005,
}

# log(seconds) = INTERCEPT + DEPTH * log(mm drilled) + DIAMETER * log(mm of the bit)
# + site + crew + method + orientation + wear + noise. Mechanics ask for a depth
# exponent near 1 and a diameter exponent of 1 to 2 (trade-facts section 8). The
# intercept gives about 10 s for an M12 hole 94 mm deep, inside the 6 to 12 mm/s there.
DRILL_INTERCEPT = -5.93
DRILL_DEPTH_EXPONENT = 1.10
DRILL_DIAMETER_EXPONENT = 1.30
DRILL_NOISE_SD = 0.25
DRILL_SITE_SD = 0.10
DRILL_CREW_SD = 0.08
DRILL_METHOD_EFFECTS = {"hammer": 0.0, "hollow_bit": 0.15}
DRILL_ORIENTATION_EFFECTS = {"floor": 0.0, "wall": 0.05, "soffit": 0.18}
WEAR_FRAC_PER_M = 0.01
BIT_LIFE_M = 25.0

# Reinforcement lies below the cover; deeper holes meet it more often.
REBAR_COVER_MM = 25.0
REBAR_HAZARD_PER_MM = 0.0006

# Invented: seconds to clean a hole, and to set an anchor of this bit diameter, to which
# the time is proportional. Noise is of log seconds.
CLEANING_MEAN_S = 24.0
SETTING_MEAN_S = 40.0
HANDLING_DIAMETER_MM = 12.0
HANDLING_NOISE_SD = 0.3

# A torque wrench read in lbf·ft and written down as Nm (NIST SP 811 factor, inverted).
FT_LBF_PER_NM = 1 / 1.3558179483314004
MARK_MISSING_FRAC = 0.10
