"""What was asked for is not what was measured, in whichever line a header says it.

Which words mean so is common practice of the trade (no published source).
"""

import json
from pathlib import Path

import pytest
import xlsxwriter

from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from tests.etl.test_draft_held import held_of

DAYS = [f"2026-06-{day}" for day in range(13, 23)]


def sizes(torque: str) -> list[list[str]]:
    """Return rows of a number, date, crew, code that asks for 55 Nm, and a torque."""
    return [
        [str(number), day, "K1", "Z-M12-68", torque]
        for number, day in enumerate(DAYS, start=1)
    ]


def drafted(tmp_path: Path, *heads: str, rows: list[list[str]]) -> Draft:
    tmp_path.mkdir(exist_ok=True)
    path = tmp_path / "log.csv"
    lines = [*heads, *(";".join(row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return draft_of(path, held=held_of(tmp_path / "held"))


def torque_of(found: Draft) -> tuple[str, str | None, str] | None:
    named = [one for one in found.placed if one.column.name == "setting_torque_nm"]
    return next(
        ((one.header, one.said.value, one.said.sureness) for one in named), None
    )


@pytest.mark.parametrize(
    ("heads", "expected"),
    [
        (["No;Date;Crew;Anchor;Torque (Nm);", ";;;;required;actual"], "actual"),
        (["No;Date;Crew;Anchor;Drehmoment [Nm];", ";;;;Soll;Ist"], "Ist"),
        (["No;Date;Crew;Anchor;Couple (Nm);", ";;;;prescrit;mesuré"], "mesuré"),
    ],
)
def test_a_second_line_of_names_says_which_was_measured(
    tmp_path: Path, heads: list[str], expected: str
) -> None:
    rows = [[*row, "52"] for row in sizes("55")]
    found = drafted(tmp_path, *heads, rows=rows)
    assert found.header.name_rows == [1, 2]
    said = torque_of(found)
    assert said is not None and said[0].endswith(expected)


def test_names_beside_units_are_read_with_their_group(tmp_path: Path) -> None:
    heads = [
        "Id;Date;Crew;Anchor;Torque;;Edge;Hole depth;Length",
        ";;;;required (Nm);applied (Nm);mm;mm;mm",
    ]
    rows = [[*row, "52", "120", "92", "110"] for row in sizes("55")]
    said = torque_of(drafted(tmp_path, *heads, rows=rows))
    assert said == ("Torque applied (Nm)", "Nm", "sure")


@pytest.mark.parametrize(
    "header",
    [
        *("erf. Drehmoment [Nm]", "Drehmoment Vorgabe [Nm]", "Nenn-Drehmoment [Nm]"),
        *("Couple requis (N.m)", "Couple préconisé (N.m)", "Par especificado (Nm)"),
        *("Par según ficha (Nm)", "Recommended torque (Nm)", "Schlüsselwert Nm"),
    ],
)
def test_what_was_asked_for_alone_is_no_torque(tmp_path: Path, header: str) -> None:
    found = drafted(tmp_path, f"No;Date;Crew;Anchor;{header}", rows=sizes("55"))
    assert torque_of(found) is None


def test_a_doubtful_name_with_just_what_is_specified_is_asked(tmp_path: Path) -> None:
    """A "Moment Werkzeug" may be what the wrench was set to: all are 55 of 55 Nm."""
    head = "No;Date;Crew;Anchor;Moment Werkzeug"
    said = torque_of(drafted(tmp_path / "all", head, rows=sizes("55")))
    assert said == ("Moment Werkzeug", "Nm", "guess")
    some = [*sizes("55")[:-1], [*sizes("52")[-1]]]
    said = torque_of(drafted(tmp_path / "some", head, rows=some))
    assert said == ("Moment Werkzeug", "Nm", "likely")


# A daN·m is ten newton metres by its name; the others firmset does not read.
@pytest.mark.parametrize(
    ("header", "torque", "expected"),
    [
        ("Couple daN.m", "5,5", ("daN·m", "sure")),
        ("Torque daN m", "5,5", ("daN·m", "sure")),
        ("torqueNm", "52", ("Nm", "sure")),
        ("Torque (kgf·cm)", "560", ("Nm", "guess")),
        ("Torque kg-cm", "560", ("Nm", "guess")),
    ],
)
def test_a_unit_in_the_name_is_neither_lost_nor_overruled(
    tmp_path: Path, header: str, torque: str, expected: tuple[str, str]
) -> None:
    head = f"No;Date;Crew;Anchor;{header}"
    said = torque_of(drafted(tmp_path, head, rows=sizes(torque)))
    assert said is not None and said[1:] == expected


def test_a_slope_in_per_cent_is_no_angle(tmp_path: Path) -> None:
    found = drafted(tmp_path, "No;Date;Crew;Anchor;Tilt (%)", rows=sizes("6"))
    [tilt] = [one for one in found.placed if one.column.name == "tilt_deg"]
    assert tilt.said.sureness == "guess"


def test_numbers_of_a_workbook_do_not_tell_its_decimal_sign(tmp_path: Path) -> None:
    """A cell that holds 9.2 is that number in every country; "1.250,5" is a text."""
    path = tmp_path / "log.xlsx"
    heads = ["Nr.", "Datum", "Kolonne", "Dübel", "Tiefe (cm)", "Randabstand (mm)"]
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for place, row in enumerate([heads, *sizes("")]):
            sheet.write_row(place, 0, row)
            if place:
                sheet.write_number(place, 4, 9.2)
                sheet.write_string(place, 5, "1.250,5" if place % 2 else "frei")
    found = draft_of(path, held=held_of(tmp_path / "held"))
    assert (found.decimal.value, found.decimal.sureness) == (",", "sure")
    read = {one.column.name: one.said for one in found.placed}
    assert (read["hole_depth_mm"].value, read["edge_1_mm"].value) == ("cm", "mm")
    assert read["hole_depth_mm"].is_active and read["edge_1_mm"].is_active


def test_numbers_of_json_do_not_tell_its_decimal_sign(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    lines = [
        {"id": number, "date": day, "crew": "K1", "depth_cm": 9.3, "torque": "55,0 Nm"}
        for number, day in enumerate(DAYS)
    ]
    path.write_text("\n".join(map(json.dumps, lines)), "utf-8")
    found = draft_of(path)
    assert (found.decimal.value, found.decimal.sureness) == (",", "sure")
    read = {one.column.name: one.said for one in found.placed}
    assert read["setting_torque_nm"].is_active and read["hole_depth_mm"].is_active
