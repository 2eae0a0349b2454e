"""An empty log, for a site that keeps none yet: a draft knows all of its columns."""

from etl.sheets.empty_workbook import TEXT_FORMAT, Described, workbook_of
from etl.site_map import NEEDED
from queries.columns import COLUMN_BY_NAME, Column

NAME = "log"
# In the order of the work. Date and time of day apart, as spreadsheets keep them.
WHAT = {
    "record_id": "the anchor's number, its own on this site",
    "installed_on": "the day on which it was set",
    "installed_time": "the time of day, by the site's clock",
    "crew_code": "the crew; a pseudonym, not a name",
    "setting_code": "which row of the setting data was specified",
    "work_area": "where on the site",
    "orientation": "where it was drilled into",
    "drill_method": "how it was drilled",
    "extraction_on": "whether the dust was extracted while drilling",
    "bit_code": "which bit",
    "bit_diameter_mm": "its cutting diameter as measured, not the size stamped on it",
    "bit_worn": "whether it was worn",
    "hole_depth_mm": "depth of the hole",
    "rebar_hit": "whether steel was hit",
    "brush_count": "strokes of the brush; 0 where none",
    "blow_count": "strokes of the pump or of air; 0 where none",
    "vacuumed": "whether the hole was vacuumed",
    "cleaned": "whether it was cleaned, where the strokes are not counted",
    "edge_1_mm": "distance to the nearest edge; clear where none is near",
    "edge_2_mm": "distance to the next edge; clear where none is near",
    "spacing_mm": "distance to the nearest anchor; clear where none is near",
    "member_thickness_mm": "thickness of the concrete",
    "base_material": "what was drilled, as the setting data name it: CRACKED",
    "concrete_mpa": "strength of the concrete, where known",
    "fixture_thickness_mm": "thickness of the fixture",
    "packing_mm": "shims, mortar, render, insulation: all of it; 0 where none",
    "anchor_type_code": "the type of anchor that was set",
    "anchor_length_mm": "its whole length",
    "length_mark": "the letter on its head",
    "setting_torque_nm": "torque at setting",
    "wrench_code": "which torque wrench",
    "projection_mm": "bolt end above the fixture's face",
    "embedment_mm": "effective embedment, where measured",
    "tilt_deg": "deviation from square",
    "outcome": "what became of it; blank: set",
    "installer_code": "who set it; a pseudonym",
    "inspector_code": "who inspected it; a pseudonym",
    "recheck_torque_nm": "a torque found later",
    "recheck_at": "when that was",
    "drill_s": "trigger time of this hole",
    "cleaning_s": "time to clean the hole",
    "setting_s": "time to set the anchor",
    "revision": "1, 2 ... where a record is sent again, changed; blank: 0",
    "note": "whatever else should be known",
}
_DATED = {
    "date": ("a date", "yyyy-mm-dd"),
    "time": ("a time of day, as 07:45", "hh:mm"),
    "instant": ("a date and time, as 2026-01-31 07:45", "yyyy-mm-dd hh:mm"),
}


def empty_log() -> str:
    """Return a log as a CSV without rows."""
    return ",".join(WHAT) + "\n"


def empty_log_workbook() -> bytes:
    """Return a log as a workbook without rows, and a page on its columns."""
    columns = [_described(COLUMN_BY_NAME[name], what) for name, what in WHAT.items()]
    return workbook_of(NAME, columns)


def _described(column: Column, what: str) -> Described:
    number_format: int | str | None = None
    offered: tuple[str, ...] = ()
    match column.kind:
        case "number":
            clear = ", or clear" if column.is_clearable else ""
            written = f"a number of {column.unit}{clear}"
        case "integer":
            written = "a whole number"
        case "yes_no":
            written, offered = "yes or no", ("yes", "no")
        case "choice":
            written, offered = f"one of {', '.join(column.choices)}", column.choices
        case "text" | "code" as kind:
            written, number_format = f"a {kind}", TEXT_FORMAT
        case "date" | "time" | "instant" as kind:
            written, number_format = _DATED[kind]
    is_needed = column.name in (*NEEDED, "installed_on")
    return Described(column.name, is_needed, what, written, number_format, offered)
