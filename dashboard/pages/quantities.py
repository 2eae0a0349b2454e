"""Logged columns in words: titles, values with units, and what is required."""

from datetime import date, datetime

from dashboard import words
from queries.columns import Column, spoken_name

# What was logged beside what the setting data ask for, where both have a word.
REQUIRED_FOR = {
    "anchor_type_code": "anchor_type_code",
    "anchor_length_mm": "anchor_length_mm",
    "length_mark": "length_mark",
    "hole_depth_mm": "hole_depth_mm",
    "embedment_mm": "embedment_mm",
    "setting_torque_nm": "setting_torque_nm",
    "edge_1_mm": "min_edge_mm",
    "edge_2_mm": "min_edge_mm",
    "spacing_mm": "min_spacing_mm",
    "brush_count": "brushes_required",
    "blow_count": "blows_required",
    "member_thickness_mm": "min_member_mm",
    "concrete_mpa": "min_concrete_mpa",
    "tilt_deg": "max_tilt_deg",
    "fixture_thickness_mm": "max_fixture_mm",
    "bit_diameter_mm": "drill_diameter_mm",
}
LIMIT_WORDS = {
    "hole_depth_mm": "at least ",
    "embedment_mm": "at least ",
    "edge_1_mm": "at least ",
    "edge_2_mm": "at least ",
    "spacing_mm": "at least ",
    "brush_count": "at least ",
    "blow_count": "at least ",
    "member_thickness_mm": "at least ",
    "concrete_mpa": "at least ",
    "tilt_deg": "at most ",
    "fixture_thickness_mm": "with packing at most ",
}


# Where the column's name alone would not do on a screen.
TITLES = {
    "installed_at": "Installed at",
    "installed_on": "Installed on",
    "recheck_at": "Re-checked at",
    "recheck_torque_nm": "Re-check torque",
    "setting_code": "Setting data",
    "drill_s": "Drilling time",
    "cleaning_s": "Cleaning time",
    "setting_s": "Setting time",
    "record_id": "Record",
}


def column_title(column: Column) -> str:
    """Return a column's name in words: hole_depth_mm is Hole depth."""
    return TITLES.get(column.name, spoken_name(column.name).capitalize())


def shown_value(column: Column, value: object, beside: object = None) -> str:
    """Return a logged value with its unit; a dash where the log was blank.

    `beside`: the value that it is compared with, if any.
    """
    if value is None:
        return words.DASH
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return words.instant(value)
    if isinstance(value, date):
        return words.day(value)
    if isinstance(value, int | float) and column.unit:
        other = float(beside) if isinstance(beside, int | float) else None
        return words.quantity(float(value), column.unit, decimals=2, beside=(other,))
    return str(value)


def shown_requirement(column: Column, value: object, beside: object = None) -> str:
    """Return what the setting data ask for, as a limit where it is one."""
    if value is None:
        return "not stated"
    return LIMIT_WORDS.get(column.name, "") + shown_value(column, value, beside)
