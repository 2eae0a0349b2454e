"""Comma-separated, mm and Nm, ISO dates: the plain case."""

from demo_data.cell_writers import (
    Words,
    clock,
    coded,
    dated,
    number,
)
from demo_data.clerical import FaultCounts
from demo_data.sites import Site
from demo_data.small_log import FIRST_ON, LAST_ON, FileColumn, Layout, SmallLog

_MARL_METHODS: Words = {"hammer drill": "hammer", "hollow bit": "hollow_bit"}
_YES_NO: Words = {"yes": True, "no": False}
_LAYOUT = Layout(
    columns=(
        FileColumn("record_id", "Record"),
        FileColumn("revision", "Revision"),
        FileColumn("installed_on", "Date", write=dated("%Y-%m-%d")),
        FileColumn("installed_time", "Time", write=clock, source="installed_local"),
        FileColumn("crew_code", "Crew"),
        FileColumn("inspector_code", "Checked by"),
        FileColumn("work_area", "Area"),
        FileColumn("orientation", "Position"),
        FileColumn("setting_code", "Setting data"),
        FileColumn("outcome", "Outcome"),
        FileColumn("anchor_length_mm", "Anchor length mm", write=number),
        FileColumn("concrete_mpa", "Concrete MPa", write=number),
        FileColumn("member_thickness_mm", "Member mm", write=number),
        FileColumn("drill_method", "Drilled with", write=coded(_MARL_METHODS)),
        FileColumn("extraction_on", "Extraction", write=coded(_YES_NO)),
        FileColumn("hole_depth_mm", "Hole depth mm", write=number),
        FileColumn("rebar_hit", "Rebar hit", write=coded(_YES_NO)),
        FileColumn("brush_count", "Brush strokes"),
        FileColumn("blow_count", "Blows"),
        FileColumn("fixture_thickness_mm", "Fixture mm", write=number),
        FileColumn("packing_mm", "Packing mm", write=number),
        FileColumn("projection_mm", "Bolt above fixture mm", write=number),
        FileColumn("edge_1_mm", "Nearest edge mm", write=number),
        FileColumn("edge_2_mm", "Second edge mm", write=number),
        FileColumn("spacing_mm", "Nearest anchor mm", write=number),
        FileColumn("setting_torque_nm", "Torque Nm", write=number),
        FileColumn("recheck_torque_nm", "Later torque Nm", write=number),
        FileColumn("wrench_code", "Wrench"),
        FileColumn("drill_s", "Drilling s", write=number),
        FileColumn("note", "Remarks"),
    ),
    codes={"drill_method": _MARL_METHODS},
)

MARL = SmallLog(
    Site(
        "MARL",
        "Marl Pit pavilion",
        "Europe/London",
        ("K01", "K02", "K03"),
        ("J01", "J02"),
        first_on=FIRST_ON,
        last_on=LAST_ON,
    ),
    "marl_anchors.csv",
    FaultCounts(
        revised=2, duplicate=2, unreadable=3, conflict=1, unknown_setting=1, no_date=1
    ),
    _LAYOUT,
)
