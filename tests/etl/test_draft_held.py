"""What a store holds tells a draft what a log's values are.

Expected by hand from the setting data that each store is built with.
"""

import json
from collections.abc import Iterable
from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.terminal.drafting import questions
from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.held import Held, read_held
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv

SIZES = (
    {"setting_code": "Z-M12-68"},
    {"setting_code": "Z-M12-85", "embedment_mm": 85, "nominal_embedment_mm": 89},
    {"setting_code": "Z-M16-84", "anchor_size": "M16", "setting_torque_nm": 110},
    {"setting_code": "S-M12-68", "material": "stainless steel"},
    {
        "setting_code": "H-2.5",
        "anchor_size": '1/2"',
        "embedment_mm": 63.5,
        "anchor_length_mm": 114.3,
    },
    {
        "setting_code": "H-3.25",
        "anchor_size": '1/2"',
        "embedment_mm": 82.55,
        "nominal_embedment_mm": 88.9,
        "anchor_length_mm": 139.7,
    },
)


def held_of(tmp_path: Path, rows: Iterable[Row] = ()) -> Held:
    return read_held(build_store(tmp_path, list(rows), settings=SIZES))


def draft(tmp_path: Path, rows: Iterable[Row], held: Held) -> Draft:
    # A column more: text is cut into two at least.
    complete = [{"Weather": "dry"} | dict(row) for row in rows]
    return draft_of(write_csv(tmp_path / "yard.csv", complete), held=held)


def said(found: Draft) -> dict[str, tuple[str, str, str]]:
    return {
        one.column.name: (one.header, one.said.value or "", one.said.sureness)
        for one in found.placed
    }


def test_a_store_without_an_edition_holds_nothing(tmp_path: Path) -> None:
    assert read_held(Store(tmp_path / "none")) == Held()


@pytest.mark.parametrize("word", ["Z-M12-68", "z m12 68", "ZM12-68"])
def test_values_tell_the_setting_code(tmp_path: Path, word: str) -> None:
    rows = [{"Job": word, "Type": "TYPE-A"}, {"Job": "Z-M16-84", "Type": "TYPE-A"}]
    found = draft(tmp_path, rows, held_of(tmp_path))
    assert said(found) == {
        "setting_code": ("Job", "", "likely"),
        "anchor_type_code": ("Type", "", "likely"),
    }
    assert "setting_code" not in found.not_found and not found.together
    assert not found.codes["setting_code"].unknown


def test_setting_codes_are_no_types(tmp_path: Path) -> None:
    rows = [{"Type": "Z-M12-68"}, {"Type": "Z-M16-84"}]
    of_store = draft(tmp_path, rows, held_of(tmp_path))
    assert said(of_store) == {"setting_code": ("Type", "", "likely")}
    assert said(draft(tmp_path, rows, Held())) == {
        "anchor_type_code": ("Type", "", "guess")
    }


def test_a_name_tells_the_specified_of_two_columns(tmp_path: Path) -> None:
    rows = [{"Setting code": "Z-M12-68", "Installed type": "Z-M12-68"}]
    found = draft(tmp_path, rows, held_of(tmp_path))
    # The code of what was specified would be another type than is expected, each time.
    assert said(found) == {"setting_code": ("Setting code", "", "likely")}
    assert found.unplaced == ("Weather", "Installed type")


def test_crews_are_known_again_where_no_name_tells(tmp_path: Path) -> None:
    crews = [{"crew_code": crew, "setting_code": "Z-M12-68"} for crew in ("K-01", "7")]
    held = held_of(tmp_path, crews)
    rows = [{"Wer": "k1"}, {"Wer": "K 01"}]
    assert said(draft(tmp_path, rows, held)) == {"crew_code": ("Wer", "", "likely")}
    # Who is named as another is that, whatever the code; numbers may be anything.
    rows = [{"Inspector": "K-01", "Wer": "7"}]
    assert said(draft(tmp_path, rows, held)) == {
        "inspector_code": ("Inspector", "", "sure")
    }


@pytest.mark.parametrize(
    ("word", "codes"),
    [
        ("M12", ("S-M12-68", "Z-M12-68", "Z-M12-85")),
        ("12", ("S-M12-68", "Z-M12-68", "Z-M12-85")),
        ("m 12 x 85", ("Z-M12-85",)),
        ("M12/85", ("Z-M12-85",)),
        ("M12 stainless", ("S-M12-68",)),
        ("Stud M16 x 110", ("Z-M16-84",)),
        ('1/2" x 2.5"', ("H-2.5",)),
        ("1/2 in", ("H-2.5", "H-3.25")),
        ("1 1/2 in", ()),
        ("M1", ()),
        ("M120", ()),
        ("stud", ()),
    ],
)
def test_a_word_may_be_the_codes_of_its_size(
    tmp_path: Path, word: str, codes: tuple[str, ...]
) -> None:
    assert held_of(tmp_path).may_be(word) == codes


def test_words_that_are_no_codes_are_asked_with_what_they_may_be(
    tmp_path: Path,
) -> None:
    words = ("M12 x 85", "M12", "stud", "Z-M12-68")
    found = draft(tmp_path, [{"Setting": word} for word in words], held_of(tmp_path))
    text = toml_of(found)
    assert '# "M12 x 85" = "Z-M12-85"  # guess: no other code' in text
    assert '# "M12" = "?"  # question: S-M12-68 or Z-M12-68 or Z-M12-85' in text
    assert '# "stud" = "?"  # question: which code of the setting data' in text
    assert '"Z-M12-68"' not in text.replace("S-M12-68 or Z-M12-68", "")
    assert any("'stud'" in one for one in questions(found))


def test_without_setting_data_it_is_said_that_none_are_loaded(tmp_path: Path) -> None:
    rows = [{"Setting": word} for word in ("M12 x 85", "M12")]
    said = "which code of the setting data; none are loaded: load them first"
    found = draft(tmp_path, rows, Held())
    assert said in toml_of(found)
    assert [one for one in found.remarks if one.startswith("no setting data are")]
    found = draft(tmp_path, rows, held_of(tmp_path))
    assert said not in toml_of(found)
    assert not [one for one in found.remarks if one.startswith("no setting data are")]


def test_a_title_with_a_code_is_the_setting_code(tmp_path: Path) -> None:
    lines = ["Stud:,Z-M16-84,,Crew:,A", "Anchor no,Date,Hole depth,,"]
    lines += [f"P{number},2026-05-0{number},91,," for number in range(1, 6)]
    path = tmp_path / "yard.csv"
    path.write_text("\n".join(lines), "utf-8")
    found = draft_of(path, held=held_of(tmp_path))
    assert found.header.titles == {"Stud": "setting_code", "Crew": "crew_code"}
    assert not found.not_found


def readings(header: str, figures: Iterable[object]) -> list[Row]:
    return [{"Setting code": "Z-M16-84", header: figure} for figure in figures]


def test_the_setting_data_tell_the_unit(tmp_path: Path) -> None:
    # 110 Nm are 81.13 ft·lbf (1 ft·lbf = 1.3558 Nm, NIST SP 811 B.8).
    rows = readings("Torque", (80, 81, 82, 81, 75))
    found = draft(tmp_path, rows, held_of(tmp_path))
    assert said(found)["setting_torque_nm"] == ("Torque", "ft·lbf", "likely")
    assert said(draft(tmp_path, rows, Held()))["setting_torque_nm"][1] == "Nm"
    few = draft(tmp_path, rows[:4], held_of(tmp_path))
    assert said(few)["setting_torque_nm"][1] == "Nm"


def test_the_setting_data_tell_the_unit_of_the_cells_without_one(
    tmp_path: Path,
) -> None:
    # 110 Nm are specified: the bare cells are in Nm, and 11 daN·m is in its own.
    rows = readings("Torque", (110, 112, 108, 110, 95, *["11 daNm"] * 6))
    found = draft(tmp_path, rows, held_of(tmp_path))
    assert said(found)["setting_torque_nm"] == ("Torque", "Nm", "likely")
    # 11.5 kgf·m are 112.8 Nm, and 11.5 daN·m 115: the cells of no unit may be either.
    rows = readings("Torque", ("110 Nm", 11.5, 11.2, 11.4, 10.9, 11.6))
    found = draft(tmp_path, rows, held_of(tmp_path))
    assert said(found)["setting_torque_nm"] == ("Torque", "Nm", "guess")


def test_a_named_unit_that_the_setting_data_deny_is_asked(tmp_path: Path) -> None:
    rows = readings("Torque (Nm)", (80, 81, 82, 81, 75))
    found = draft(tmp_path, rows, held_of(tmp_path))
    [_, torque] = found.placed
    assert (torque.said.value, torque.said.sureness) == ("Nm", "guess")
    assert torque.unit_choices == ("ft·lbf", "Nm")
    assert "only in ft·lbf" in torque.said.reason


def test_figures_as_specified_tell_their_column(tmp_path: Path) -> None:
    rows = readings("Actual (Nm)", (110, 108, 112, 110, 95))
    found = draft(tmp_path, rows, held_of(tmp_path))
    assert said(found)["setting_torque_nm"] == ("Actual (Nm)", "Nm", "likely")
    far = draft(
        tmp_path, readings("Actual (Nm)", (20, 30, 400, 9, 15)), held_of(tmp_path)
    )
    assert said(far)["setting_torque_nm"][2] == "guess"


# Z-M12-68: 68 mm effective and 79 nominal (builders.SETTING); 3 1/8 in are 79.4 mm.
@pytest.mark.parametrize(
    ("header", "figures", "sureness"),
    [
        ("Embedment (in)", ("3 1/8", "3 1/4", "3", "3 1/8", "2 7/8"), "guess"),
        ("Embedment", (79, 80, 77, "3 1/8 in", "8 cm"), "guess"),
        ("Embedment (mm)", (68, 70, 66, 69, 72), "sure"),
        # Deeper than either is nearer to the nominal one, unless the header says it.
        ("Embedment (mm)", (90, 91, 92, 90, 95), "guess"),
        ("Effective embedment (mm)", (79, 80, 77, 79, 81), "sure"),
        ("h_ef [mm]", (79, 80, 77, 79, 81), "sure"),
        ("Embedment (mm)", (79, 80, 77, 79), "sure"),
    ],
)
def test_embedments_at_the_nominal_one_are_asked(
    tmp_path: Path, header: str, figures: Iterable[object], sureness: str
) -> None:
    rows = [{"Setting code": "Z-M12-68", header: figure} for figure in figures]
    found = draft(tmp_path, rows, held_of(tmp_path))
    [embedment] = [one for one in found.placed if one.column.name == "embedment_mm"]
    assert embedment.said.sureness == sureness
    asked = "effective or nominal? its values lie at the nominal embedment"
    is_asked = asked in " ".join(questions(found)) and asked in toml_of(found)
    assert is_asked == (sureness == "guess")


def test_torques_of_a_plate_are_headed_t1_to_t4(tmp_path: Path) -> None:
    rows = [
        {"Plate": f"P{number}", "Setting code": "Z-M16-84"}
        | {f"T{anchor}": 110 + number for anchor in (1, 2, 3, 4)}
        for number in range(6)
    ]
    held = held_of(tmp_path)
    found = draft(tmp_path, rows, held)
    assert found.header.anchors == ("1", "2", "3", "4")
    assert said(found)["setting_torque_nm"] == ("T{anchor}", "Nm", "likely")
    # Without the store it may be any figure: a guess.
    assert said(draft(tmp_path, rows, Held()))["setting_torque_nm"][2] == "guess"


def test_the_terminal_asks_its_store(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [], settings=SIZES)
    rows = [
        {"No": f"A{number}", "Date": "2026-05-04", "Crew": "A", "Job": "Z-M12-68"}
        for number in range(3)
    ]
    log, path = write_csv(tmp_path / "yard.csv", rows), tmp_path / "yard.toml"
    command = ["map", str(log), "--store", str(store.folder), "--out", str(path)]
    assert main(command) == 0
    assert "setting_code = 'Job': likely, the store holds" in capsys.readouterr().err
    assert read_site_map(path).site_code == "YARD"
    [receipt] = load(store, log, path).receipts
    assert receipt.loaded == 3


# Common practice, no source: what logs are called. Of each name the words that are of
# any log, the dates and the numbers are none of a site.
@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("tower_a.csv", "TOWER-A"),
        ("Log_Tower_B.csv", "TOWER-B"),
        ("2026_05_harbour-point.csv", "HARBOUR-POINT"),
        ("KW12 Setzprotokoll Brücke Nord.csv", "BRÜCKE-NORD"),
        ("Installation log May 2026 (2).csv", "SITE"),
        ("12345.csv", "SITE"),
    ],
)
def test_a_site_is_guessed_from_the_file_s_name_and_asked(
    tmp_path: Path, name: str, code: str
) -> None:
    rows = [{"record_id": "A1", "crew_code": "C1", "hole_depth_mm": "90"}]
    found = draft_of(write_csv(tmp_path / name, rows))
    assert f"code = {json.dumps(code, ensure_ascii=False)}  # guess" in toml_of(found)
    asked = f"which site is it? its code, {code!r}, is a guess from the file's name"
    assert asked in list(questions(found))
    assert not any(one.startswith("which site") for one in questions(found, "YARD"))


def test_it_is_said_whose_rows_they_would_be(tmp_path: Path) -> None:
    """Two sites under one guessed code would silently be one."""
    rows = [{"record_id": "A1", "crew_code": "C1", "hole_depth_mm": "90"}]
    path = write_csv(tmp_path / "site-1.csv", rows)
    held = read_held(build_store(tmp_path, sites={"TOWER-A": [{}]}))
    said = "the store holds a site of this code"
    assert said not in " ".join(questions(draft_of(path, held=held)))
    # Case, blanks and dashes make no other code.
    path = write_csv(tmp_path / "Tower A.csv", rows)
    assert said in " ".join(questions(draft_of(path, held=held)))
