"""The whole judgement once more, in plain Python and exact fractions.

Written from the trade's text (definitions of h_ef, the edge and spacing pair, cleaning,
calibration), not from the SQL; nothing here imports queries. A value is a Fraction, a
text, a bool, INFINITE for a clear distance, None for a blank and UNREADABLE.
"""

from collections.abc import Callable
from fractions import Fraction

from tests.queries.checks.twin_lengths import (
    anchor_length,
    embedment,
    fixture_thickness,
)
from tests.queries.checks.twin_pairs import edge_distance, spacing
from tests.queries.checks.twin_values import UNREADABLE, Judged, Row, known, lost


def at_least(row: Row, name: str, limit: Fraction | None, word: str) -> Judged:
    """A quantity that must reach a limit."""
    if limit is None:
        return "inapplicable", None, None
    value = known(row[name])
    if value is None:
        return lost(row, name), None, None
    margin = value - limit
    if margin < 0:
        return "nonconforming", margin, word
    return "conforming", margin, None


def anchor_type(row: Row, need: Row) -> Judged:
    if row["anchor_type_code"] is None:
        return "unrecorded", None, None
    if row["anchor_type_code"] == need["anchor_type_code"]:
        return "conforming", None, None
    return "nonconforming", None, "other type"


def hole_depth(row: Row, need: Row) -> Judged:
    return at_least(row, "hole_depth_mm", need["hole_depth_mm"], "shallow")


def hole_cleaning(row: Row, need: Row) -> Judged:
    brushes, blows = need["brushes_required"], need["blows_required"]
    replaced = need["extraction_replaces_cleaning"] and (
        row["drill_method"] == "hollow_bit" and known(row["extraction_on"]) is True
    )
    if (brushes == 0 and blows == 0) or replaced:
        return "inapplicable", None, None
    over = []
    if brushes:
        brushed = known(row["brush_count"])
        over.append(None if brushed is None else brushed - brushes)
    if blows:
        blown = known(row["blow_count"])
        over.append(None if blown is None else blown - blows)
    counted = [value for value in over if value is not None]
    margin = None
    if counted and (len(counted) == len(over) or min(counted) < 0):
        margin = min(counted)
    cleaned = known(row["cleaned"])
    if cleaned is False or (margin is not None and margin < 0):
        return "nonconforming", margin, "too little"
    if margin is not None:
        return "conforming", margin, None
    if cleaned and UNREADABLE not in (row["brush_count"], row["blow_count"]):
        return "conforming", None, None
    return lost(row, "brush_count", "blow_count", "cleaned"), None, None


def bit_limits(need: Row) -> tuple[Fraction | None, Fraction | None]:
    """The setting data's, else the usual ones (metric, from memory)."""
    usual = {
        8: ("8.05", "8.45"),
        10: ("10.10", "10.45"),
        12: ("12.10", "12.50"),
        20: ("20.10", "20.55"),
    }.get(int(need["drill_diameter_mm"]), (None, None))
    return tuple(  # type: ignore[return-value]
        given if given is not None else value and Fraction(value)
        for given, value in zip(
            (need["bit_min_mm"], need["bit_max_mm"]), usual, strict=True
        )
    )


def drill_bit(row: Row, need: Row) -> Judged:
    low, high = bit_limits(need)
    width, worn = known(row["bit_diameter_mm"]), known(row["bit_worn"])
    if low is None and high is None and worn is not True:
        return "inapplicable", None, None
    sides = []
    if width is not None and low is not None:
        sides.append(width - low)
    if width is not None and high is not None:
        sides.append(high - width)
    margin = min(sides) if sides else None
    is_wide = width is not None and high is not None and width > high
    if worn is True or (margin is not None and margin < 0):
        is_thin = margin is not None and margin < 0
        return (
            "nonconforming",
            margin,
            "oversize" if is_wide else "undersize" if is_thin else "worn",
        )
    if margin is None or row["bit_worn"] == UNREADABLE:
        return lost(row, "bit_diameter_mm", "bit_worn"), margin, None
    return "conforming", margin, None


def member_thickness(row: Row, need: Row) -> Judged:
    return at_least(row, "member_thickness_mm", need["min_member_mm"], "thin")


def base_material(row: Row, need: Row) -> Judged:
    allowed, least = need["base_materials"], need["min_concrete_mpa"]
    if not allowed and least is None:
        return "inapplicable", None, None
    material, strength = row["base_material"], known(row["concrete_mpa"])
    margin = None if least is None or strength is None else strength - least
    if allowed and material is not None and material not in allowed:
        return "nonconforming", margin, "other material"
    if margin is not None and margin < 0:
        return "nonconforming", margin, "weak"
    if (allowed and material is None) or (least is not None and margin is None):
        return lost(row, "concrete_mpa"), margin, None
    return "conforming", margin, None


def setting_torque(row: Row, need: Row) -> Judged:
    target = need["setting_torque_nm"]
    low = need["torque_low_nm"] or target * Fraction(9, 10)
    high = need["torque_high_nm"] or target * Fraction(11, 10)
    torque = known(row["setting_torque_nm"])
    if torque is None:
        return lost(row, "setting_torque_nm"), None, None
    if torque < low:
        return "nonconforming", torque - low, "under"
    if torque > high:
        return "nonconforming", high - torque, "over"
    return "conforming", min(torque - low, high - torque), None


def tilt(row: Row, need: Row) -> Judged:
    largest, found = need["max_tilt_deg"], known(row["tilt_deg"])
    if largest is None:
        return "inapplicable", None, None
    if found is None:
        return lost(row, "tilt_deg"), None, None
    if found > largest:
        return "nonconforming", largest - found, "tilted"
    return "conforming", largest - found, None


CHECKS: dict[str, Callable[[Row, Row], Judged]] = {
    function.__name__: function
    for function in (
        anchor_type,
        anchor_length,
        fixture_thickness,
        hole_depth,
        embedment,
        hole_cleaning,
        drill_bit,
        edge_distance,
        spacing,
        member_thickness,
        base_material,
        setting_torque,
        tilt,
    )
}
