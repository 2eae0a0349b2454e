"""A workbook: two title rows, merged dates and areas, real dates and numbers."""

from demo_data.cell_writers import (
    Words,
    clearable,
    clock,
    coded,
)
from demo_data.clerical import FaultCounts
from demo_data.sites import Site
from demo_data.small_log import FIRST_ON, LAST_ON, FileColumn, Layout, SmallLog

_YES_NO: Words = {"yes": True, "no": False}
_LAYOUT = Layout(
    columns=(
        FileColumn("installed_on", "Day", fill_down=True),
        FileColumn("work_area", "Area", fill_down=True),
        FileColumn("record_id", "No."),
        FileColumn("revision", "Issue"),
        FileColumn("installed_time", "Hour", write=clock, source="installed_local"),
        FileColumn("crew_code", "Team"),
        FileColumn("inspector_code", "Inspector"),
        FileColumn("orientation", "Surface"),
        FileColumn("setting_code", "Setting data"),
        FileColumn("outcome", "Outcome"),
        FileColumn("anchor_length_mm", "Length (mm)"),
        FileColumn("drill_method", "Method"),
        FileColumn("extraction_on", "Extraction on", write=coded(_YES_NO)),
        FileColumn("hole_depth_mm", "Depth (mm)"),
        FileColumn("brush_count", "Brushed (times)"),
        FileColumn("blow_count", "Blown (times)"),
        FileColumn("fixture_thickness_mm", "Fixture (mm)"),
        FileColumn("packing_mm", "Packing (mm)"),
        FileColumn("projection_mm", "Projection (mm)"),
        FileColumn("edge_1_mm", "Edge (mm)", write=clearable),
        FileColumn("spacing_mm", "Spacing (mm)", write=clearable),
        FileColumn("setting_torque_nm", "Torque (Nm)"),
        FileColumn("drill_s", "Drilling (s)"),
        FileColumn("note", "Remark"),
    ),
    files={"header_row": 3, "sheet": "Anchors"},
)

# Dates stand in merged cells here, so none can be missing.
PUMICE = SmallLog(
    Site(
        "PUMICE",
        "Pumice Hall extension",
        "Europe/Lisbon",
        ("R01", "R02", "R03"),
        ("J07", "J08"),
        missing_frac=0.02,
        first_on=FIRST_ON,
        last_on=LAST_ON,
    ),
    "pumice_book.xlsx",
    FaultCounts(
        revised=2, duplicate=2, unreadable=2, conflict=0, unknown_setting=2, no_crew=2
    ),
    _LAYOUT,
)
