"""Headers in two languages at once, and those that are the questions of a form.

The meanings are common practice of the trade (no published source).
"""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.match import name_fit
from etl.draft.words import tokens
from tests.builders import write_csv
from tests.etl.draft_logs import DAYS, NUMBERED, Headers, active_map

GERMAN_ENGLISH: Headers = [
    ("Nr. / No.", "record_id", NUMBERED),
    ("Datum / Date", "installed_on", DAYS),
    ("Uhrzeit / Time", "installed_time", ["08:10", "09:25", "13:40"]),
    ("Kolonne / Crew", "crew_code", ["K1", "K2"]),
    ("Setzdaten / Setting data", "setting_code", ["M12-68", "M16-85"]),
    ("Bohrtiefe / Hole depth (mm)", "hole_depth_mm", ["92", "95"]),
    ("Bürsten / Brushed", "brush_count", ["2", "3"]),
    ("Randabstand / Edge distance (mm)", "edge_1_mm", ["120", "frei"]),
    ("Drehmoment / Torque [Nm]", "setting_torque_nm", ["50", "55"]),
]
FRENCH_ENGLISH: Headers = [
    ("N° / No", "record_id", NUMBERED),
    ("Date de pose / Installation date", "installed_on", DAYS),
    ("Équipe (crew)", "crew_code", ["E1", "E2"]),
    ("Prof. perçage - drill depth [mm]", "hole_depth_mm", ["92", "95"]),
    ("Couple | Torque (Nm)", "setting_torque_nm", ["50", "55"]),
    ("Nettoyé\nCleaned", "cleaned", ["oui", "non"]),
    ("Orientation / Orientation", "orientation", ["mur", "sol"]),
]
# One of the two languages is none that a draft knows.
BESIDE: Headers = [
    ("Lp. / No.", "record_id", NUMBERED),
    ("Dzień / Date", "installed_on", DAYS),
    ("Brygada / Crew", "crew_code", ["B1", "B2"]),
    ("Mélység / Depth (mm)", "hole_depth_mm", ["92", "95"]),
]
QUESTIONS: Headers = [
    ("1. Record number", "record_id", NUMBERED),
    ("2. Date of installation", "installed_on", DAYS),
    ("3. Which crew?", "crew_code", ["B1", "B2"]),
    ("4. Drill depth (mm)", "hole_depth_mm", ["92", "95"]),
    ("5.1 How many times was the hole brushed?", "brush_count", ["2", "3"]),
    ("5.2 How many times was the hole blown out?", "blow_count", ["2", "3"]),
    ("5.3 Was the hole vacuumed?", "vacuumed", ["yes", "no"]),
    ("Q6 Distance to nearest edge (mm)", "edge_1_mm", ["120", "150"]),
    ("7) Applied torque (Nm)", "setting_torque_nm", ["50", "55"]),
]
# What cleans the hole stands in brackets, and a later torque has a day of its own.
SPANISH: Headers = [
    ("Nº", "record_id", NUMBERED),
    ("Fecha", "installed_on", DAYS),
    ("Hora", "installed_time", ["8:10 a. m.", "9:25 a. m.", "1:40 p. m."]),
    ("Cuadrilla", "crew_code", ["C1", "C2"]),
    ("Limpieza (cepillo)", "brush_count", ["2 veces", "3 veces"]),
    ("Limpieza (soplado)", "blow_count", ["2 veces", "2"]),
    ("Par de apriete (N·m)", "setting_torque_nm", ["55,0", "54,5"]),
]
LATER_TORQUE: Headers = [
    ("ID", "record_id", NUMBERED),
    ("Date", "installed_on", DAYS),
    ("Crew", "crew_code", ["Blue", "Red"]),
    ("Final torque (Nm)", "setting_torque_nm", ["55", "56"]),
    ("Retorque 24h (Nm)", "recheck_torque_nm", ["41", "44"]),
    ("Retorque date", "recheck_at", ["2026-05-05 08:10", "2026-05-06 09:00"]),
]
DUTCH: Headers = [
    ("Nr", "record_id", NUMBERED),
    ("Datum", "installed_on", DAYS),
    ("Tijd", "installed_time", ["07.10 uur", "07.25 uur"]),
    ("Randafstand (mm)", "edge_1_mm", ["120", "150"]),
]
SWISS_GERMAN: Headers = [
    ("Lauf-Nr.", "record_id", NUMBERED),
    ("Zeitstempel (UTC)", "installed_at", ["2026-05-04T07:10:05Z"]),
    ("Kantenabstand", "edge_1_mm", ["120 mm", "1'200 mm"]),
]
# An app exports a question with the section that it stands in.
SECTIONS: Headers = [
    ("Record", "record_id", NUMBERED),
    ("Conducted on", "installed_at", ["2026-05-04T09:00:00Z", "2026-05-05T09:00:00Z"]),
    ("Hole - Depth (mm)", "hole_depth_mm", ["92", "95"]),
    ("Hole - Brushed", "brush_count", ["2", "3"]),
    ("Setting: Torque (Nm)", "setting_torque_nm", ["50", "55"]),
    ("Setting: Wrench", "wrench_code", ["W-1", "W-2"]),
]
# Days as a sheet holds them whose cells have no form: 4 and 5 May 2026 (1900 system).
DAY_NUMBERS: Headers = [
    ("No", "record_id", NUMBERED),
    ("Date", "installed_on", ["46146", "46147"]),
    ("Time", "installed_time", ["07:10", "07:25"]),
    ("Later torque (Nm)", "recheck_torque_nm", ["41", "44"]),
]
ALL = {
    "sections": SECTIONS,
    "day numbers": DAY_NUMBERS,
    "Dutch": DUTCH,
    "Swiss German": SWISS_GERMAN,
    "Spanish": SPANISH,
    "a later torque": LATER_TORQUE,
    "German and English": GERMAN_ENGLISH,
    "French and English": FRENCH_ENGLISH,
    "unknown and English": BESIDE,
    "questions": QUESTIONS,
}


@pytest.mark.parametrize("headers", ALL.values(), ids=ALL)
def test_a_header_may_say_it_twice_or_ask(tmp_path: Path, headers: Headers) -> None:
    assert active_map(tmp_path, headers) == {
        " ".join(header.split()): column for header, column, _ in headers
    }


def test_what_stands_before_a_name_may_speak_against_it(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("No,Later - Torque,Later - Depth\n1,55,92\n2,54,93\n", "utf-8")
    found = {one.column.name for one in draft_of(path).active}
    assert "setting_torque_nm" not in found


@pytest.mark.parametrize("cell", ["46146.3", "19999", "80001", "4614"])
def test_what_is_no_day_number(tmp_path: Path, cell: str) -> None:
    path = tmp_path / "log.csv"
    path.write_text(f"No,Date\n1,{cell}\n2,{cell}\n", "utf-8")
    assert "installed_on" not in {one.column.name for one in draft_of(path).placed}


def test_times_are_no_words_for_a_choice(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("No,Drill start\n1,07:10\n2,07:25\n", "utf-8")
    assert [one.column.name for one in draft_of(path).placed] == ["record_id"]


@pytest.mark.parametrize("header", ["Anchor Dia. (in)", "Dübel-Durchmesser (in)"])
def test_a_diameter_is_no_length(tmp_path: Path, header: str) -> None:
    path = tmp_path / "log.csv"
    path.write_text(f"No,{header}\n1,1/2\n2,5/8\n", "utf-8")
    assert "anchor_length_mm" not in {one.column.name for one in draft_of(path).placed}


@pytest.mark.parametrize(
    ("header", "values"),
    [
        # Two columns in one, by the cells.
        ("Crew / Shift", ["K1/day", "K2/night"]),
        # What was required, in whatever language.
        ("Depth / nominal (mm)", ["90", "95"]),
        # One word that is known, among others of the same language.
        ("Mélység depth (mm)", ["90", "95"]),
        ("Mélység depth / furat (mm)", ["90", "95"]),
        ("Depth / 2 (mm)", ["90", "95"]),
    ],
)
def test_what_is_said_beside_it_may_make_it_another_column(
    tmp_path: Path, header: str, values: list[str]
) -> None:
    headers: Headers = [("No.", "record_id", NUMBERED), (header, "", values)]
    assert active_map(tmp_path, headers) == {"No.": "record_id"}


def test_a_word_of_both_languages_counts_once() -> None:
    assert name_fit(tokens("Orientation / Orientation"), "orientation") == 1.0


def test_a_header_of_two_columns_is_neither(tmp_path: Path) -> None:
    headers: Headers = [
        ("No.", "record_id", NUMBERED),
        ("Inspector", "inspector_code", ["RK", "TL"]),
        ("Crew / Inspector", "", ["K1", "K2"]),
    ]
    assert "Crew / Inspector" not in active_map(tmp_path, headers)


@pytest.mark.parametrize(
    "headers",
    [
        [("2. Randabstand (mm)", "edge_2_mm", ["130", "160"])],
        [
            ("1. Randabstand (mm)", "edge_1_mm", ["120", "150"]),
            ("2. Randabstand (mm)", "edge_2_mm", ["130", "160"]),
            ("3. Randabstand (mm)", "", ["140", "170"]),
        ],
    ],
)
def test_a_number_may_say_which_of_several_a_column_is(
    tmp_path: Path, headers: Headers
) -> None:
    found = active_map(tmp_path, [("Nr.", "record_id", NUMBERED), *headers])
    assert {header: found.get(header, "") for header, *_ in headers} == {
        header: column for header, column, _ in headers
    }


CHECKED: Headers = [
    ("No.", "record_id", NUMBERED),
    ("Revision", "revision", ["0", "0", "1"]),
    ("Team", "crew_code", ["Y", "N"]),
    ("Hole clean?", "cleaned", ["Y", "N"]),
    ("Right anchor?", "", ["Y", "N"]),
    ("Depth OK?", "", ["Y", "Y", "N"]),
    ("Torque", "", ["pass", "fail"]),
    ("Brushed?", "", ["yes", "no"]),
    ("Date right?", "", ["yes", "no"]),
    ("Edge distance (mm)", "edge_1_mm", ["120", "150"]),
]


def test_answers_are_no_figures_and_no_anchors(tmp_path: Path) -> None:
    """And the draft says what becomes of them: no pass."""
    assert active_map(tmp_path, CHECKED) == {
        header: column for header, column, _ in CHECKED if column
    }
    draft = draft_of(tmp_path / "log.csv")
    assert "setting_code" not in [one.column.name for one in draft.placed]
    [remark] = draft.remarks
    assert remark.startswith("'Depth OK?', 'Torque', 'Brushed?': answers, where what")


@pytest.mark.parametrize("values", [["90", "N"], [""], ["90", "95"]])
def test_of_other_columns_that_are_not_placed_it_says_nothing(
    tmp_path: Path, values: list[str]
) -> None:
    active_map(tmp_path, [*CHECKED[:3], ("Proof torque (Nm)", "", values)])
    assert draft_of(tmp_path / "log.csv").remarks == ()


# The names stand twice, a language a row, over a row of units.
def test_a_header_in_two_rows_of_two_languages_is_all_header(tmp_path: Path) -> None:
    names = [
        ["Setzprotokoll / Installation log", "", "", ""],
        ["Lfd. Nr.", "Kolonne", "Bohrtiefe", "Drehmoment"],
        ["No.", "Crew", "Hole depth", "Torque"],
        ["", "", "mm", "Nm"],
    ]
    data = [[str(place), "K1", str(90 + place), "55"] for place in range(9)]
    path = tmp_path / "log.csv"
    lines = [";".join(row) for row in [*names, *data]]
    path.write_text("\n".join(lines), "utf-8")
    draft = draft_of(path)
    assert draft.header.name_rows == [2, 3, 4]
    assert {one.column.name: (one.header, one.said.value) for one in draft.active} == {
        "record_id": ("Lfd. Nr. No.", None),
        "crew_code": ("Kolonne Crew", None),
        "hole_depth_mm": ("Bohrtiefe Hole depth mm", "mm"),
        "setting_torque_nm": ("Drehmoment Torque Nm", "Nm"),
    }


@pytest.mark.parametrize(
    ("header", "cells", "column", "sureness"),
    [
        ("Set on", ["2026-05-04 07:15", "2026-05-04 08:20"], "installed_at", "sure"),
        ("Posé le", ["04/05/2026 07h15", "14/05/2026"], "installed_on", "likely"),
        ("Set on", ["2026-05-04 00:00:00", "2026-05-05"], "installed_on", "sure"),
        ("Set on", ["2026-05-04 7:15"] * 4 + ["2026-05-05"], "installed_at", "likely"),
    ],
)
def test_a_day_with_a_time_is_an_instant(
    tmp_path: Path, header: str, cells: list[str], column: str, sureness: str
) -> None:
    rows = [{"Crew": "A", header: cell} for cell in cells]
    [_, placed] = sorted(
        draft_of(write_csv(tmp_path / "log.csv", rows)).placed,
        key=lambda one: one.column.kind != "code",
    )
    assert (placed.column.name, placed.said.sureness) == (column, sureness)


def test_a_day_with_a_time_beside_a_clock_stays_a_day(tmp_path: Path) -> None:
    rows = [{"Set on": "2026-05-04 00:15", "Time": "07:15"}] * 2
    found = draft_of(write_csv(tmp_path / "log.csv", rows)).active
    assert {one.column.name: one.header for one in found} == {
        "installed_on": "Set on",
        "installed_time": "Time",
    }
