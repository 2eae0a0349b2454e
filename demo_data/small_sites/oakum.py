"""Inches as fractions and decimals, lbf·ft, psi, month-first dates."""

from demo_data.cell_writers import (
    MM_IN_AN_INCH,
    NM_IN_A_FT_LBF,
    Words,
    clock,
    coded,
    dated,
    foot_pounds,
    inch_decimal,
    inch_fraction,
    number,
    psi,
)
from demo_data.clerical import FaultCounts
from demo_data.sites import INCH_SIZES, Site
from demo_data.small_log import FIRST_ON, LAST_ON, FileColumn, Layout, SmallLog

_FACES: Words = {"FLR": "floor", "WALL": "wall", "OVHD": "soffit"}
_Y_N: Words = {"Y": True, "N": False}
_LAYOUT = Layout(
    columns=(
        FileColumn("record_id", "Bolt No"),
        FileColumn("revision", "Rev"),
        FileColumn("installed_on", "Date", write=dated("%m/%d/%Y")),
        FileColumn("installed_time", "Time", write=clock, source="installed_local"),
        FileColumn("crew_code", "Crew"),
        FileColumn("inspector_code", "Inspector"),
        FileColumn("work_area", "Area"),
        FileColumn("orientation", "Face", write=coded(_FACES)),
        FileColumn("setting_code", "Setting data"),
        FileColumn("outcome", "Result"),
        FileColumn("anchor_length_mm", "Length (in)", write=inch_fraction, unit="in"),
        FileColumn("concrete_mpa", "Concrete (psi)", write=psi, unit="psi"),
        FileColumn("hole_depth_mm", "Hole depth (in)", write=inch_fraction, unit="in"),
        FileColumn("brush_count", "Brush"),
        FileColumn("blow_count", "Blow"),
        FileColumn(
            "fixture_thickness_mm", "Fixture (in)", write=inch_decimal, unit="in"
        ),
        FileColumn("packing_mm", "Shims (in)", write=inch_decimal, unit="in"),
        FileColumn("projection_mm", "Stick-out (in)", write=inch_fraction, unit="in"),
        FileColumn("edge_1_mm", "Edge 1 (in)", write=inch_decimal, unit="in"),
        FileColumn("edge_2_mm", "Edge 2 (in)", write=inch_decimal, unit="in"),
        FileColumn("spacing_mm", "Spacing (in)", write=inch_decimal, unit="in"),
        FileColumn(
            "setting_torque_nm", "Torque (ft-lb)", write=foot_pounds, unit="ft·lbf"
        ),
        FileColumn("drill_method", "Drill"),
        FileColumn("extraction_on", "Vac on", write=coded(_Y_N)),
        FileColumn("drill_s", "Drill time (s)", write=number),
        FileColumn("note", "Notes"),
    ),
    date_format="%m/%d/%Y",
    codes={"orientation": _FACES},
)

OAKUM = SmallLog(
    Site(
        "OAKUM",
        "Oakum Street garage",
        "America/Toronto",
        ("N01", "N02", "N03"),
        ("J05", "J06"),
        size_weights=tuple(INCH_SIZES.items()),
        first_on=FIRST_ON,
        last_on=LAST_ON,
        depth_step_mm=MM_IN_AN_INCH / 16,
        tape_step_mm=MM_IN_AN_INCH / 4,
        torque_step_nm=NM_IN_A_FT_LBF,
    ),
    "oakum_log.csv",
    FaultCounts(
        revised=3, duplicate=1, unreadable=2, conflict=1, unknown_setting=1, no_date=2
    ),
    _LAYOUT,
)
