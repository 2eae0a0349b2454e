"""What a crew's foreman is told of one step, in the words of the work: pure."""

from collections.abc import Mapping
from typing import Any

from dashboard import words
from dashboard.retraining_words import MUCH_MISSING, is_nothing

# What is counted, and what was wrong with it by the side of the limit.
COUNTED = {
    "hole_depth": "holes",
    "hole_cleaning": "holes",
    "drill_bit": "drill bits",
    "member_thickness": "holes",
    "base_material": "holes",
}
WRONG = {
    ("anchor_length", "short"): "were too short",
    ("anchor_length", "long"): "were too long",
    ("anchor_type", "other type"): "were not the type specified",
    ("base_material", "other material"): "were in a material not allowed",
    ("base_material", "weak"): "were in too weak a material",
    ("drill_bit", "oversize"): "were oversize",
    ("drill_bit", "undersize"): "were undersize",
    ("drill_bit", "worn"): "were logged as worn",
    ("edge_distance", "close"): "were too near an edge",
    ("embedment", "shallow"): "were not deep enough in the concrete",
    ("fixture_thickness", "thick"): "clamped too thick a fixture",
    ("hole_cleaning", "too little"): "were cleaned too little",
    ("hole_depth", "shallow"): "were too shallow",
    ("member_thickness", "thin"): "were in too thin a member",
    ("setting_torque", "under"): "were tightened too little",
    ("setting_torque", "over"): "were tightened too much",
    ("spacing", "close"): "were too near the next anchor",
    ("tilt", "tilted"): "were tilted too far",
    ("torque_tool", "expired"): "were set with a wrench past its calibration",
    ("torque_tool", "too many uses"): "were set with a wrench used too often",
    ("torque_tool", "out of range"): "were set with a wrench out of its range",
}


def foreman_words(entry: Mapping[str, Any]) -> str:
    """Return what was wrong, what good crews have, and what could be spared.

    `entry`: a row of the retraining list (queries/readers/retraining.py).
    """
    spared = round(entry["avoidable"])
    some = f"About {words.count(spared)}" if spared else "Fewer than 1"
    return (
        f"{_found(entry)}. The better quarter of the crews has "
        f"{_good(entry['reachable_rate'])}. "
        f"{some} of the next {words.count(entry['planned'])} holes would be spared."
        f"{_missing(entry)}"
    )


def _found(entry: Mapping[str, Any]) -> str:
    noun = COUNTED.get(entry["check"], "anchors")
    found = entry["nonconforming"]
    of = f"{words.count(found)} of {words.count(entry['judged'])} {noun}"
    wrong = WRONG.get((entry["check"], entry["direction"]))
    title = words.title(entry["check"]).lower()
    if wrong is None:
        return f"{of} did not conform on {title}"
    if entry["direction_share"] == 1:
        return f"{of} {wrong}"
    sided = words.count(round(entry["direction_share"] * found))
    return f"{of} did not conform on {title}: {sided} of them {wrong}"


def _good(rate: float) -> str:
    if is_nothing(rate):
        return "none"
    in_a_hundred = round(100 * rate)
    return f"about {in_a_hundred} in 100" if in_a_hundred else "fewer than 1 in 100"


def _missing(entry: Mapping[str, Any]) -> str:
    missing = entry["missing"] or 0
    due = entry["judged"] + missing
    if missing <= MUCH_MISSING * due:
        return ""
    return (
        f" {words.count(missing)} of {words.count(due)} were not written down; they "
        "are taken to be like the others."
    )
