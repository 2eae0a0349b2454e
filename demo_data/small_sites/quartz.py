"""JSON Lines: numbers and yes/no as such, times with an offset, length marks."""

from demo_data.cell_writers import (
    clearable,
)
from demo_data.clerical import FaultCounts
from demo_data.sites import Site
from demo_data.small_log import FIRST_ON, LAST_ON, FileColumn, Layout, SmallLog

_LAYOUT = Layout(
    columns=(
        FileColumn("record_id", "id"),
        FileColumn("revision", "rev"),
        FileColumn("installed_at", "at", source="installed_local"),
        FileColumn("crew_code", "crew"),
        FileColumn("installer_code", "installer"),
        FileColumn("inspector_code", "inspector"),
        FileColumn("work_area", "area"),
        FileColumn("orientation", "face"),
        FileColumn("setting_code", "setting"),
        FileColumn("outcome", "outcome"),
        FileColumn("length_mark", "mark"),
        FileColumn("drill_method", "drill"),
        FileColumn("extraction_on", "extraction"),
        FileColumn("bit_code", "bit"),
        FileColumn("bit_diameter_mm", "bitDiameter"),
        FileColumn("hole_depth_mm", "holeDepth"),
        FileColumn("rebar_hit", "rebar"),
        FileColumn("brush_count", "brushes"),
        FileColumn("blow_count", "blows"),
        FileColumn("fixture_thickness_mm", "fixture"),
        FileColumn("packing_mm", "packing"),
        FileColumn("projection_mm", "projection"),
        FileColumn("embedment_mm", "embedment"),
        FileColumn("edge_1_mm", "edge1", write=clearable),
        FileColumn("edge_2_mm", "edge2", write=clearable),
        FileColumn("spacing_mm", "spacing", write=clearable),
        FileColumn("setting_torque_nm", "torque"),
        FileColumn("wrench_code", "wrench"),
        FileColumn("drill_s", "drillSeconds"),
        FileColumn("note", "note"),
    ),
)

QUARTZ = SmallLog(
    Site(
        "QUARTZ",
        "Quartz Lane depot",
        "Europe/Stockholm",
        ("S01", "S02", "S03"),
        ("J09", "J10"),
        missing_frac=0.04,
        length_logged="mark",
        logs_embedment=True,
        first_on=FIRST_ON,
        last_on=LAST_ON,
    ),
    "quartz_app.jsonl",
    FaultCounts(
        revised=2,
        duplicate=2,
        unreadable=3,
        conflict=1,
        unknown_setting=1,
        no_date=1,
        no_crew=1,
        broken_line=1,
    ),
    _LAYOUT,
)
