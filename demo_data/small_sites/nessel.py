"""Semicolons, decimal commas, Windows-1252, day-first dates, German words, cm."""

from demo_data.cell_writers import (
    MM_IN_A_CM,
    Words,
    clock,
    coded,
    comma,
    dated,
)
from demo_data.clerical import FaultCounts
from demo_data.sites import Site
from demo_data.small_log import FIRST_ON, LAST_ON, FileColumn, Layout, SmallLog

_ORIENTATIONS: Words = {"Boden": "floor", "Wand": "wall", "Decke": "soffit"}
_OUTCOMES: Words = {
    "gesetzt": "set",
    "abgebrochen": "abandoned",
    "ersetzt": "replaced",
}
_METHODS: Words = {"HB": "hammer", "SB": "hollow_bit"}
_JA_NEIN: Words = {"ja": True, "nein": False}
_CLEAR: Words = {"frei": "clear"}
# The dash is why this file is Windows-1252 and not Latin-1.
_NOTES: Words = {
    "Bewehrung berührt \N{EN DASH} Loch verfüllt": "reinforcement met, hole filled",
    "Dübel ausgewechselt": "anchor exchanged",
    "berichtigt \N{EN DASH} Loch nachgemessen": "corrected: hole measured again",
    "doppelt eingetragen": "entered twice",
}
_LAYOUT = Layout(
    columns=(
        FileColumn("record_id", "Lfd. Nr."),
        FileColumn("revision", "Änderung"),
        FileColumn("installed_on", "Datum", write=dated("%d.%m.%Y")),
        FileColumn("installed_time", "Uhrzeit", write=clock, source="installed_local"),
        FileColumn("crew_code", "Kolonne"),
        FileColumn("inspector_code", "Prüfer"),
        FileColumn("work_area", "Bereich"),
        FileColumn("orientation", "Lage", write=coded(_ORIENTATIONS)),
        FileColumn("setting_code", "Setzdaten"),
        FileColumn("outcome", "Ergebnis", write=coded(_OUTCOMES)),
        FileColumn("anchor_length_mm", "Dübellänge mm", write=comma()),
        FileColumn("concrete_mpa", "Betondruckfestigkeit MPa", write=comma()),
        FileColumn("drill_method", "Bohrverfahren", write=coded(_METHODS)),
        FileColumn("extraction_on", "Absaugung", write=coded(_JA_NEIN)),
        FileColumn(
            "hole_depth_mm", "Bohrlochtiefe cm", write=comma(MM_IN_A_CM), unit="cm"
        ),
        FileColumn("cleaned", "gereinigt", write=coded(_JA_NEIN)),
        FileColumn("fixture_thickness_mm", "Anbauteil mm", write=comma()),
        FileColumn("packing_mm", "Unterfütterung mm", write=comma()),
        FileColumn("projection_mm", "Überstand mm", write=comma()),
        FileColumn(
            "edge_1_mm", "Randabstand 1 cm", write=comma(MM_IN_A_CM, "frei"), unit="cm"
        ),
        FileColumn(
            "edge_2_mm", "Randabstand 2 cm", write=comma(MM_IN_A_CM, "frei"), unit="cm"
        ),
        FileColumn(
            "spacing_mm", "Achsabstand cm", write=comma(MM_IN_A_CM, "frei"), unit="cm"
        ),
        FileColumn("setting_torque_nm", "Drehmoment Nm", write=comma()),
        FileColumn("drill_s", "Bohrzeit s", write=comma()),
        FileColumn("note", "Bemerkung", write=coded(_NOTES)),
    ),
    files={"encoding": "windows-1252", "delimiter": ";", "decimal": ","},
    date_format="%d.%m.%Y",
    impossible_date="30.02.2026",
    codes={
        "orientation": _ORIENTATIONS,
        "outcome": _OUTCOMES,
        "drill_method": _METHODS,
        "extraction_on": _JA_NEIN,
        "cleaned": _JA_NEIN,
        "edge_1_mm": _CLEAR,
        "edge_2_mm": _CLEAR,
        "spacing_mm": _CLEAR,
    },
)

NESSEL = SmallLog(
    Site(
        "NESSEL",
        "Nesselbrücke, Widerlager Süd",
        "Europe/Berlin",
        ("L01", "L02", "L03"),
        ("J03", "J04"),
        stainless_share=0.5,
        missing_frac=0.05,
        cleaning_logged="yes_no",
        first_on=FIRST_ON,
        last_on=LAST_ON,
    ),
    "nessel_protokoll.csv",
    FaultCounts(
        revised=1,
        duplicate=3,
        unreadable=2,
        conflict=0,
        unknown_setting=2,
        impossible_date=1,
        no_date=1,
    ),
    _LAYOUT,
)
