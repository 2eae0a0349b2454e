"""Headers as sites write them, and what each means.

The meanings are common practice of the trade (no published source), but for the signs
hef, h1, tfix, c1, c2 and Tinst, which are those of EN 1992-4:2018 and of anchors'
assessments (from memory).
"""

import tomllib
from pathlib import Path

import pytest

from dashboard.terminal.drafting import questions
from etl.draft.dates import style_of
from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from queries.store import Store
from tests.builders import load, write_csv, write_setting_data
from tests.etl.draft_logs import DAYS, NUMBERED, Headers, active_map

OF_A_FIXING_GANG: Headers = [
    ("Fixing ref", "record_id", NUMBERED),
    ("Date fixed", "installed_on", DAYS),
    ("Time fixed", "installed_time", ["08:10", "09:25", "13:40"]),
    ("Gang no.", "crew_code", ["1", "2"]),
    ("Anchor type/size", "setting_code", ["Z M12x110", "Z M16x145"]),
    ("Fixer", "installer_code", ["JS", "MB"]),
    ("Witness", "inspector_code", ["RK", "TL"]),
    ("Overhead/wall/floor", "orientation", ["wall", "floor", "overhead"]),
    ("Overall length mm", "anchor_length_mm", ["110", "145"]),
    ("Slab thk mm", "member_thickness_mm", ["250", "300"]),
    ("Drill mode", "drill_method", ["hammer", "core"]),
    ("Bit ref", "bit_code", ["B-7", "B-9"]),
    ("Hole depth mm", "hole_depth_mm", ["92", "95"]),
    ("Hit rebar Y/N", "rebar_hit", ["N", "N", "Y"]),
    ("No. brushes", "brush_count", ["2", "3"]),
    ("Pumps", "blow_count", ["2", "4"]),
    ("Hoovered", "vacuumed", ["Y", "N"]),
    ("Cleaned (Y/N)", "cleaned", ["Y", "Y", "N"]),
    ("Plate thk mm", "fixture_thickness_mm", ["15", "20"]),
    ("Packers mm", "packing_mm", ["0", "3", "6"]),
    ("Stickout mm", "projection_mm", ["9", "11"]),
    ("Edge A mm", "edge_1_mm", ["120", "150"]),
    ("Edge B mm", "edge_2_mm", ["200", "400"]),
    ("Ctrs mm", "spacing_mm", ["150", "200"]),
    ("Torque achieved Nm", "setting_torque_nm", ["55", "56"]),
    ("Torque after 24 h Nm", "recheck_torque_nm", ["41", "44"]),
    ("TW no.", "wrench_code", ["W-3", "W-4"]),
    ("Time to drill (s)", "drill_s", ["14", "22"]),
    ("Clean time (s)", "cleaning_s", ["20", "25"]),
    ("Set time (s)", "setting_s", ["40", "45"]),
]
OF_A_PLATE_CREW: Headers = [
    ("Record", "record_id", NUMBERED),
    ("Completion date", "installed_on", DAYS),
    ("Subcontractor gang", "crew_code", ["G1", "G2"]),
    ("Setting data", "setting_code", ["Z1", "Z2"]),
    ("Drill time (mm:ss)", "drill_s", ["0:25", "1:05", "0:40"]),
    ("Holes cleaned", "cleaned", ["Done", "Not done"]),
    ("Fixture t (mm)", "fixture_thickness_mm", ["10", "20"]),
    ("OC spacing (mm)", "spacing_mm", ["150", "250"]),
    ("Peak torque (daNm)", "setting_torque_nm", ["5.5", "5.6"]),
]
OF_A_DECK_CREW: Headers = [
    ("S/No", "record_id", NUMBERED),
    ("Install date", "installed_on", DAYS),
    ("Squad", "crew_code", ["A", "B"]),
    ("Anchor spec", "setting_code", ["W-1/2-4.5", "W-5/8-6"]),
    ("Operative", "installer_code", ["D1", "D2"]),
    ("QC by", "inspector_code", ["Q1", "Q2"]),
    ("Embed depth (in)", "embedment_mm", ["2 3/4", "3"]),
    ("Shim (in)", "packing_mm", ["0", "1/8"]),
    ("Baseplate thickness (in)", "fixture_thickness_mm", ["3/8", "1/2"]),
    ("Rebar struck", "rebar_hit", ["no", "yes"]),
    ("Head mark", "length_mark", ["E", "F"]),
    ("Bolt spacing (in)", "spacing_mm", ["6", "8"]),
    ("Applied torque (ft-lb)", "setting_torque_nm", ["40", "42"]),
    ("Retorque (ft-lb)", "recheck_torque_nm", ["30", "33"]),
    ("Wrench S/N", "wrench_code", ["881", "882"]),
]
BY_SIGNS: Headers = [
    ("Sr. No.", "record_id", NUMBERED),
    ("Date of installation", "installed_on", DAYS),
    ("Team", "crew_code", ["T1", "T2"]),
    ("Setting code", "setting_code", ["Z-M12", "Z-M16"]),
    ("hef (mm)", "embedment_mm", ["68", "85"]),
    ("h1 (mm)", "hole_depth_mm", ["92", "112"]),
    ("tfix (mm)", "fixture_thickness_mm", ["15", "20"]),
    ("c1 (mm)", "edge_1_mm", ["120", "150"]),
    ("c2 (mm)", "edge_2_mm", ["200", "400"]),
    ("Spacing c/c (mm)", "spacing_mm", ["150", "200"]),
    ("Tinst (Nm)", "setting_torque_nm", ["55", "110"]),
]

OF_A_KOLONNE: Headers = [
    ("Befestigung Nr.", "record_id", NUMBERED),
    ("Ausführungsdatum", "installed_on", DAYS),
    ("Mannschaft", "crew_code", ["1", "2"]),
    ("Dübeltyp und Größe", "setting_code", ["Z M12", "Z M16"]),
    ("Setzer", "installer_code", ["JS", "MB"]),
    ("abgenommen von", "inspector_code", ["RK", "TL"]),
    ("Decke/Wand", "orientation", ["Wand", "Decke"]),
    ("Deckendicke (mm)", "member_thickness_mm", ["200", "250"]),
    ("gebohrt mit", "drill_method", ["Hammer", "Krone"]),
    ("Schneidendurchmesser (mm)", "bit_diameter_mm", ["12.2", "12.3"]),
    ("gemessene Bohrtiefe (mm)", "hole_depth_mm", ["92", "95"]),
    ("Eisen getroffen (J/N)", "rebar_hit", ["ja", "nein"]),
    ("x gebürstet", "brush_count", ["2", "3x"]),
    ("x ausgeblasen", "blow_count", ["2", "4x"]),
    ("Dicke Ankerplatte (mm)", "fixture_thickness_mm", ["15", "20"]),
    ("Futterbleche (mm)", "packing_mm", ["0", "3"]),
    ("Überstand Bolzen (mm)", "projection_mm", ["9", "11"]),
    ("Abstand Rand (mm)", "edge_1_mm", ["120", "150"]),
    ("Abstand nächster Dübel (mm)", "spacing_mm", ["150", "200"]),
    ("Drehmoment ist (Nm)", "setting_torque_nm", ["55", "56"]),
    ("Weiterdrehmoment (Nm)", "recheck_torque_nm", ["41", "44"]),
    ("DMS Nr.", "wrench_code", ["W-3", "W-4"]),
    ("Hinweise", "note", ["", "an der Ecke"]),
]
OF_A_CUADRILLA: Headers = [
    ("Nº fijación", "record_id", NUMBERED),
    ("Fecha de montaje", "installed_on", DAYS),
    ("Cuadrilla", "crew_code", ["A", "B"]),
    ("Tipo y diámetro", "setting_code", ["Z M12", "Z M16"]),
    ("Prof. efectiva (mm)", "embedment_mm", ["68", "72"]),
    ("Espesor chapa (mm)", "fixture_thickness_mm", ["15", "20"]),
    ("Espesor de calzos (mm)", "packing_mm", ["0", "3"]),
    ("Resalte (mm)", "projection_mm", ["9", "11"]),
    ("Canto losa (mm)", "member_thickness_mm", ["200", "250"]),
    ("Distancia entre ejes (mm)", "spacing_mm", ["150", "200"]),
    ("Par aplicado (Nm)", "setting_torque_nm", ["55", "56"]),
    ("Ref. broca", "bit_code", ["B1", "B2"]),
]
ALL = {
    "gang": OF_A_FIXING_GANG,
    "deck": OF_A_DECK_CREW,
    "plates": OF_A_PLATE_CREW,
    "signs": BY_SIGNS,
    "kolonne": OF_A_KOLONNE,
    "cuadrilla": OF_A_CUADRILLA,
}


@pytest.mark.parametrize("headers", ALL.values(), ids=ALL)
def test_a_usual_word_is_known(tmp_path: Path, headers: Headers) -> None:
    assert active_map(tmp_path, headers) == {
        header: column for header, column, _ in headers
    }


# Near to one of ours, and something else or open: a nominal diameter is not the one
# measured, thread beyond the nut not the one above the fixture, a plate no member.
OPEN: Headers = [
    ("Hole dia (mm)", "bit_diameter_mm", ["12", "16"]),
    ("Thread showing (mm)", "projection_mm", ["5", "8"]),
    ("Proof torque (Nm)", "setting_torque_nm", ["40", "44"]),
    ("Washers (mm)", "packing_mm", ["2", "3"]),
    ("Vac", "extraction_on", ["yes", "no"]),
    ("Drawing reference", "record_id", NUMBERED),
    ("Floor", "work_area", ["2", "3"]),
    ("Checked", "inspector_code", ["RK", "TL"]),
]


def test_a_word_that_may_mean_something_else_is_asked(tmp_path: Path) -> None:
    assert active_map(tmp_path, OPEN) == {}


def test_a_plate_is_no_member(tmp_path: Path) -> None:
    plate: Headers = [("Steel thickness (mm)", "", ["80", "90"]), ("X", "", ["a"])]
    assert active_map(tmp_path, plate) == {
        "Steel thickness (mm)": "fixture_thickness_mm"
    }


# Deleting the first sign of a comment is how a line of a draft is taken.
def test_a_line_that_is_asked_is_taken_by_its_first_sign(tmp_path: Path) -> None:
    rows = [
        {"Anchor": '1/2" x 4', "Date": "03/04/2026", "Spacing": spacing, "Drill": "Z?"}
        for spacing in ("8", "OK", "6")
    ]
    lines = toml_of(draft_of(write_csv(tmp_path / "log.csv", rows))).splitlines()
    asked = [line[2:] for line in lines if line.startswith("# ") and "  # " in line]
    assert {line.split(" ")[0] for line in asked} == {
        *("[dates]", "format", "setting_code", "spacing_mm", "drill_method"),
        *("record_id", "crew_code", '"1/2\\"', '"OK"', '"Z?"'),
    }
    for line in asked:
        tomllib.loads(line)


# By hand: 3 to 5 May 2026, or 5 March to 5 May.
def test_two_readings_of_a_date_say_from_when_to_when() -> None:
    question = style_of(["04/05/26", "03/05/26", "05/05/26"]).question
    assert question is not None
    assert "with the day first they run from 2026-05-03 to 2026-05-05" in question
    assert "with the month first they run from 2026-03-05 to 2026-05-05" in question


# Two rows of names, merged cells holding theirs once: what is meant by "Thickness" and
# "Applied" is said by the group alone. The second form has most names in the upper row.
GROUPED = [
    (
        (
            "General,,,Anchor,Fixture,,Torque,,Required\n"
            "No,Date,Crew,Setting code,Thickness,Packing,Applied,Wrench,Depth\n"
            ",,,,mm,mm,Nm,,mm\n"
            "1,2026-05-04,A,M12-68,20,0,55,W1,90\n"
        ),
        {
            "record_id": "General No",
            "installed_on": "General Date",
            "crew_code": "General Crew",
            "setting_code": "Anchor Setting code",
            "fixture_thickness_mm": "Fixture Thickness mm",
            "packing_mm": "Fixture Packing mm",
            "setting_torque_nm": "Torque Applied Nm",
            "wrench_code": "Torque Wrench",
        },
    ),
    (
        (
            "No,Date,Crew,Setting code,Hole,,Cleaning,\n"
            ",,,,Depth (mm),Bit no.,Brushes,Blows\n"
            "1,2026-05-04,A,M12-68,92,B1,2x,2x\n"
            "2,2026-05-04,A,M12-68,93,B1,2x,4x\n"
        ),
        {
            "record_id": "No",
            "installed_on": "Date",
            "crew_code": "Crew",
            "setting_code": "Setting code",
            "hole_depth_mm": "Hole Depth (mm)",
            "bit_code": "Hole Bit no.",
            "brush_count": "Cleaning Brushes",
            "blow_count": "Cleaning Blows",
        },
    ),
]


@pytest.mark.parametrize(("text", "columns"), GROUPED, ids=["units", "upper"])
def test_names_of_groups_are_read_with_those_below(
    tmp_path: Path, text: str, columns: dict[str, str]
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text, "utf-8")
    (tmp_path / "log.toml").write_text(toml_of(draft_of(path)), "utf-8")
    site_map = read_site_map(tmp_path / "log.toml")
    assert {one.column.name: one.header for one in site_map.columns} == columns
    write_setting_data(tmp_path)
    receipt = load(Store(tmp_path / "store"), tmp_path).receipts[-1]
    assert (receipt.loaded, receipt.rejected) == (text.count("2026"), 0)
    assert receipt.field_faults == 0


def test_titles_above_are_no_groups(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(
        "Anchor log,Harbour sheds,\nNo,Date,Crew\n1,2026-05-04,A\n2,2026-05-05,B\n"
    )
    assert draft_of(path).header.name_rows == 2


# The length is what was set, which need not be what was specified: it stays apart.
def test_type_and_size_may_together_be_the_setting_code(tmp_path: Path) -> None:
    rows = [
        {"Anchor type": "Z", "Size": size, "Length (mm)": "110", "Crew": "A"}
        for size in ("M12", "M16", "M12")
    ]
    text = toml_of(draft_of(write_csv(tmp_path / "log.csv", rows)))
    assert '# setting_code = {from = ["Anchor type", "Size"]}' in text
    assert '# "Z M12" = "?"' in text and '# "Z M16" = "?"' in text


def test_size_and_specified_embedment_may_together_be_the_setting_code(
    tmp_path: Path,
) -> None:
    rows = [
        {
            "Anchor Dia. (in)": size,
            "Nom. Embed. (in)": depth,
            "Hole Depth (in)": "3-1/2",
            "Hole blown out (Y/N)": "Y",
            "Brushed and blown (Y/N)": answer,
        }
        for size, depth, answer in (("1/2", "2-1/4", "Y"), ("5/8", "2-3/4", "N"))
    ]
    draft = draft_of(write_csv(tmp_path / "log.csv", rows))
    text = toml_of(draft)
    assert '# setting_code = {from = ["Anchor Dia. (in)", "Nom. Embed. (in)"]}' in text
    assert '# "1/2 2-1/4" = "?"' in text and '# "5/8 2-3/4" = "?"' in text
    # Blown out alone is no count of blows, and not cleaned.
    assert '\ncleaned = "Brushed and blown (Y/N)"' in text
    assert draft.unplaced == ("Nom. Embed. (in)", "Hole blown out (Y/N)")
    [asked] = [one for one in questions(draft) if one.startswith("setting_code")]
    assert asked == (
        "setting_code: is it 'Anchor Dia. (in)' and 'Nom. Embed. (in)' together? which "
        "code of yours is each of '1/2 2-1/4', '5/8 2-3/4'?"
    )


@pytest.mark.parametrize("header", ["Size", "Anchor Dia.", "Größe", "Taille", "Tamaño"])
def test_a_size_alone_may_be_the_setting_code(tmp_path: Path, header: str) -> None:
    rows = [{header: size, "Crew": "A"} for size in ("M12", "M16")]
    text = toml_of(draft_of(write_csv(tmp_path / "log.csv", rows)))
    assert text.count(f'# setting_code = "{header}"') == 1
    assert '# [codes.setting_code]\n# "M12" = "?"' in text and '# "M16" = "?"' in text


def test_a_setting_code_that_is_told_is_asked_no_more(tmp_path: Path) -> None:
    rows = [{"Setting code": "Z-12", "Size": "M12", "Nominal embedment": "70"}]
    assert draft_of(write_csv(tmp_path / "log.csv", rows)).together == ()


def test_a_unit_alone_is_a_guess(tmp_path: Path) -> None:
    required = [{"Required (Nm)": "55", "X": "a"}]
    assert draft_of(write_csv(tmp_path / "other.csv", required)).placed == ()
    rows = [{"Applied (Nm)": "55", "X": "a"}, {"Applied (Nm)": "50"}]
    [placed] = draft_of(write_csv(tmp_path / "log.csv", rows)).placed
    assert (placed.column.name, placed.header) == ("setting_torque_nm", "Applied (Nm)")
    assert not placed.said.is_active


@pytest.mark.parametrize(
    ("crew", "installer", "inspector"),
    [
        ("Crew name", "Name of installer", "Inspector's name"),
        ("Name Kolonne", "Name Monteur", "Name Prüfer"),
        ("Nom de l'équipe", "Nom du poseur", "Nom contrôleur"),
        ("Nombre de la cuadrilla", "Nombre del instalador", "Nombre del inspector"),
    ],
)
def test_of_people_the_name_is_the_code(
    tmp_path: Path, crew: str, installer: str, inspector: str
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(f"{crew},{installer},{inspector}\nA,Bo,Cy\nB,Di,Ed\n", "utf-8")
    assert {one.column.name: one.header for one in draft_of(path).active} == {
        "crew_code": crew,
        "installer_code": installer,
        "inspector_code": inspector,
    }


def test_a_name_of_something_else_is_no_persons(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("Anchor name,Site name,Brush name\nx,y,2\nx,y,3\n", "utf-8")
    assert not draft_of(path).active
