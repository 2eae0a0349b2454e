"""Drafts of site maps from forms: titles, names of files and sheets, units, signatures.

Expected by hand, from the files that each test writes.
"""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from tests.etl.test_draft import NEEDED, site_map_of, write_csv
from tests.etl.test_said_once import Rows, write_book, write_form


def drafted(path: Path) -> list[str]:
    """Return the draft's lines without what is said of them."""
    lines = toml_of(draft_of(path)).splitlines()
    return [line.partition("  #")[0] for line in lines]


HEADER = ["No.", "Setting data", "Hole depth [mm]", "Torque [Nm]"]
LOG: Rows = [HEADER, *([number, "M12-68", 92, 55] for number in range(1, 5))]


def test_a_draft_takes_titles_and_names_for_what_no_column_says(tmp_path: Path) -> None:
    # The torque of the title is the one required: no anchor was measured there.
    form = [["Date: 14.05.2026", "Torque: 55 Nm"], ["Inspector", "I1"], [], *LOG]
    lines = drafted(write_form(tmp_path, form, "Crew 3_14.05.2026.csv"))
    assert {
        'match = "{crew}_*.csv"',
        "header_row = 4",
        'titles = ["Date", "Inspector"]',
        'format = "%d.%m.%Y"',
        'installed_on = "Date"',
        'inspector_code = "Inspector"',
        'crew_code = "crew"',
        'setting_torque_nm = "Torque [Nm]"',
    } <= {*lines}
    assert any(line.startswith('#   within = ["Date", "crew"] in') for line in lines)


# "c2" is an edge distance, too: nobody's title, behind another.
@pytest.mark.parametrize("crew", [["Crew:", "C2"], ["Crew", "C2"], ["Crew: C2", ""]])
def test_a_code_behind_a_title_is_what_it_says(tmp_path: Path, crew: list[str]) -> None:
    form = [["Date:", "14.05.2026", "", *crew], *LOG]
    lines = drafted(write_form(tmp_path, form, "deck.csv"))
    assert {'titles = ["Date", "Crew"]', 'crew_code = "Crew"'} <= {*lines}


def test_a_draft_takes_the_names_of_sheets(tmp_path: Path) -> None:
    days = drafted(write_book(tmp_path, {"13.05.2026": LOG, "02.05.2026": LOG}))
    assert {'sheet = "{day}"', 'installed_on = "day"', 'format = "%d.%m.%Y"'} <= {*days}
    crews = drafted(write_book(tmp_path, {"Crew 1": LOG, "Crew 2": LOG}))
    assert {'sheet = "{crew}"', 'crew_code = "crew"'} <= {*crews}
    for other in ("Hall", "13.05.2026"):
        others = drafted(write_book(tmp_path, {"Crew 1": LOG, other: LOG}))
        assert 'sheet = "*"' in others


def test_a_draft_says_what_of_the_row_above_is_not_read(tmp_path: Path) -> None:
    said = "row 1 above the header holds Foreman, X, which is not read"
    path = write_form(tmp_path, [["Foreman", "X"], *LOG], "some.csv")
    assert draft_of(path).remarks == (said,)
    path = write_form(tmp_path, [["Crew", "C7"], *LOG], "some.csv")
    assert draft_of(path).remarks == ()


@pytest.mark.parametrize(("first", "second"), [("1", "C2"), ("A", "B")])
def test_a_draft_takes_titles_between_rows(
    tmp_path: Path, first: str, second: str
) -> None:
    log = [
        [*HEADER, "Date"],
        [f"Crew {first}"],
        *([*row, "2026-05-14"] for row in LOG[1:3]),
        [f"Crew {second}"],
        [],
        ["Remark: rain"],
        *([*row, "2026-05-14"] for row in LOG[3:]),
    ]
    draft = draft_of(write_form(tmp_path, log))
    assert {'titles = ["Crew"]', 'crew_code = "Crew"', 'record_id = "No."'} <= {
        line.partition("  #")[0] for line in toml_of(draft).splitlines()
    }
    [crews] = [one for one in draft.placed if one.column.name == "crew_code"]
    # Of the blank row and of the remark too.
    assert crews.looks.cells == (first, first, second, second, second, second)


# Blanks alone part the titles of the day before, and two or a line break the others.
@pytest.mark.parametrize(
    ("parted", "is_ended"), [(" ", True), ("   ", False), ("\n", False), ("; ", False)]
)
def test_a_draft_takes_several_titles_of_a_cell(
    tmp_path: Path, parted: str, is_ended: bool
) -> None:
    def titles(day: str, crew: str, shift: str) -> list[str]:
        return [parted.join([f"Date: {day}", f"Crew no.: {crew}", f"Shift: {shift}"])]

    named = 'titles = ["Date", "Crew no.", "Shift"]'
    if not is_ended:
        named = named.replace(', "Shift"', "")
    first, second = (
        titles("14.05.2026", "C 1", "day"),
        titles("15.05.2026", "2", "6:30"),
    )
    for form in ([first, [], *LOG], [HEADER, first, *LOG[1:3], second, *LOG[3:]]):
        path = write_form(tmp_path, form, "log.csv")
        lines = drafted(path)
        assert {named, 'installed_on = "Date"', 'crew_code = "Crew no."'} <= {*lines}
        placed = draft_of(path).active
        [crews] = [one for one in placed if one.column.name == "crew_code"]
        last = "2" if form[0] == HEADER else "C 1"
        assert crews.looks.cells == ("C 1", "C 1", last, last)


def test_a_colon_in_what_a_title_says(tmp_path: Path) -> None:
    path = write_form(tmp_path, [["Crew: hall: east 7:30"], [], *LOG], "log.csv")
    assert 'titles = ["Crew"]' in drafted(path)
    [crews] = [one for one in draft_of(path).placed if one.column.name == "crew_code"]
    assert set(crews.looks.cells) == {"hall: east 7:30"}


def test_a_draft_leaves_what_a_column_says_to_the_column(tmp_path: Path) -> None:
    log = [[*row, text] for row, text in zip(LOG, ["Crew", *"1234"], strict=True)]
    lines = drafted(write_form(tmp_path, [["Crew", "C1"], *log], "Crew 3.csv"))
    assert {'match = "Crew 3.csv"', 'crew_code = "Crew"'} <= {*lines}
    assert not any(line.startswith("titles") for line in lines)


def test_rows_that_end_a_form_are_named(tmp_path: Path) -> None:
    log = "Lfd. Nr.;Datum;Trupp Nr.;Setzdaten\n1;2026-05-04;A;M12-68\n"
    path = tmp_path / "log.csv"
    foot = "Summe;;;1\n;;;\nGesetzt: 1;;;\nUnterschrift:;;;X\nUnterschrift:;;;Y\n"
    path.write_text(f"{log}{foot}", "utf-8")
    draft = draft_of(path)
    assert site_map_of(draft, tmp_path).not_rows == ("Gesetzt", "Unterschrift")
    assert draft.header.rows == [["1", "2026-05-04", "A", "M12-68"]]
    # A row that was begun is one of the log, as is one that is a time.
    for last in ("2;;;", "07:45;;;", "K:2;2026-05-04;A;M12-68;later"):
        path.write_text(f"{log}Gesetzt: 1;;;\n{last}\n", "utf-8")
        assert draft_of(path).header.feet == ()


# As of pages printed one after another: column names and signatures come again.
def test_rows_between_pages_are_named(tmp_path: Path) -> None:
    foot = [["Signed: ....", "", "Date: ...."]]
    pages = [[f"Page {number} of 3"] for number in (1, 2, 3)]
    form: Rows = [pages[0], *LOG[:3], *foot, pages[1], HEADER, *LOG[3:5], *foot]
    draft = draft_of(write_form(tmp_path, form, "log.csv"))
    assert draft.header.feet == ("Signed", "Page")
    assert [row[0] for row in draft.header.rows] == ["1", "2", "3", "4"]
    # What rows of the log begin with too ends nothing.
    longer = [["Signed", "M12-68", 92, 55, "late"], *foot]
    draft = draft_of(write_form(tmp_path, [[*HEADER, "Note"], *longer], "log.csv"))
    assert draft.header.feet == ()


def test_a_number_of_a_crew_is_its_code(tmp_path: Path) -> None:
    numbers = ["Trupp Nr.", "3", "4"], ["Prüfer-ID", "9", "9"], ["Bohrer-Nr", "1", "2"]
    dates = ["Datum", "2026-05-04", "2026-05-04"]
    draft = draft_of(write_csv(tmp_path, NEEDED[0], NEEDED[2], dates, *numbers))
    placed = {one.column.name: one.header for one in draft.active}
    assert placed["crew_code"] == "Trupp Nr."
    assert placed["inspector_code"] == "Prüfer-ID"
    assert placed["bit_code"] == "Bohrer-Nr"
    assert placed["record_id"] == "Nr"
