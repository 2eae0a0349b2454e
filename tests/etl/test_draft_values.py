"""What the values under a header say of it, besides its words."""

from pathlib import Path

import pytest
import xlsxwriter

from etl.draft.draft import draft_of
from tests.builders import write_csv
from tests.etl.test_draft_words import DAYS, NUMBERED, Headers, active_map


# Mapped to abandoned, such an anchor would never be judged.
@pytest.mark.parametrize(
    ("values", "expected"),
    [
        (["Pass", "Fail"], None),
        (["OK", "NOK"], None),
        (["i.O.", "n.i.O."], None),
        (["set", "abandoned"], "outcome"),
        (["gesetzt", "Fehlbohrung"], "outcome"),
    ],
)
def test_what_somebody_thought_of_an_anchor_is_no_outcome(
    tmp_path: Path, values: list[str], expected: str | None
) -> None:
    rows = [{"No.": str(n), "Result": values[n % 2]} for n in range(6)]
    placed = draft_of(write_csv(tmp_path / "log.csv", rows)).placed
    found = {one.header: one.column.name for one in placed}
    assert found.get("Result") == expected


@pytest.mark.parametrize(
    ("header", "values", "known", "unknown"),
    [
        ("Cleaned", ["✓", "✗", "✓", "y"], {"✓": "true"}, ("✗",)),
        ("Hole cleaned", ["ok", "nok", "OK", "ok"], {"ok": "true"}, ("nok",)),
        # What is found in order is no worn bit: nobody knows what a tick says of it.
        ("Bit worn", ["ok", "yes", "no", "no"], {}, ("ok",)),
    ],
)
def test_a_tick_says_that_it_was_done(
    tmp_path: Path,
    header: str,
    values: list[str],
    known: dict[str, str],
    unknown: tuple[str, ...],
) -> None:
    rows = [{"No.": f"A{n}", header: value} for n, value in enumerate(values)]
    draft = draft_of(write_csv(tmp_path / "log.csv", rows))
    [codes] = [codes for name, codes in draft.codes.items() if name != "record_id"]
    assert (codes.known, codes.unknown) == (known, unknown)


def test_totals_between_the_rows_say_nothing_of_the_dates(tmp_path: Path) -> None:
    rows = [
        {"Datum": day if n == 0 else "", "Nr.": str(n), "Kolonne": "K1", "Nm": "55"}
        for day in ("2026-05-04", "2026-05-05", "2026-05-06")
        for n in range(4)
    ]
    for place in (4, 9):
        rows.insert(place, {"Datum": "Tagessumme", "Nr.": "4", "Kolonne": "", "Nm": ""})
    draft = draft_of(write_csv(tmp_path / "log.csv", rows))
    assert {one.column.name for one in draft.active} >= {"installed_on", "crew_code"}
    assert draft.fill_down["installed_on"].value


def test_a_fraction_is_no_count(tmp_path: Path) -> None:
    """2/2 are two counts, of strokes and of blows: where one is named, neither."""
    rows = [{"No.": str(n), "Brushed": f"{n % 2 + 1}/2"} for n in range(6)]
    draft = draft_of(write_csv(tmp_path / "log.csv", rows))
    assert "Brushed" in draft.unplaced


def test_a_sheet_may_be_called_by_a_crews_letter(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    with xlsxwriter.Workbook(path) as book:
        for name in ("Equipe A", "Equipe B"):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["Repère", "Date", "Couple (Nm)"])
            sheet.write_row(1, 0, [f"{name[-1]}1", "2026-05-04", 55])
    draft = draft_of(path)
    assert draft.sheet is not None
    assert draft.sheet.value == "{crew}"


@pytest.mark.parametrize(("is_numbered", "place"), [(True, "record_id"), (False, None)])
def test_an_anchors_column_numbers_them_where_each_is_another(
    tmp_path: Path, is_numbered: bool, place: str | None
) -> None:
    numbered = [f"A{number}" for number in NUMBERED]
    values = numbered if is_numbered else ["M12x110", "M16x145"]
    headers: Headers = [("Anchor", "", values), ("Date", "", DAYS), ("Nm", "", ["55"])]
    assert active_map(tmp_path, headers).get("Anchor") == place


def test_a_date_that_is_asked_has_its_format(tmp_path: Path) -> None:
    rows = [{"Inspection date": f"05/{day}/26", "Nm": "55"} for day in range(12, 18)]
    draft = draft_of(write_csv(tmp_path / "log.csv", rows))
    assert [one.column.name for one in draft.placed if one.said.is_active] == []
    assert draft.dates.date_format == "%m/%d/%y"


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [
        ("Site", ["Larch", "Oak"], "'Site' holds 2 words ('Larch', 'Oak'): if these"),
        ("Baustelle", ["A", "B", "C", "D"], "holds 4 words ('A', 'B', 'C', ...)"),
        ("Site", ["Larch"], ""),
        ("Site", NUMBERED, ""),
        ("Area", ["Larch", "Oak"], ""),
    ],
)
def test_a_file_of_several_sites_is_told(
    tmp_path: Path, name: str, values: list[str], said: str
) -> None:
    rows = [
        {"No.": number, name: values[place % len(values)], "Nm": "55"}
        for place, number in enumerate(NUMBERED)
    ]
    path = write_csv(tmp_path / "log.csv", rows)
    remarks = " ".join(draft_of(path, is_of_one_site=True).remarks)
    assert (said in remarks) if said else remarks == ""
    # Unless it is said to be of one site, it is taken to be of these.
    found = draft_of(path).sites
    assert (found.header if found else "") == (name if said else "")


# A device's count of seconds is a time where its header says so, and else a number.
@pytest.mark.parametrize(
    ("name", "column"), [("Timestamp", "installed_at"), ("Anchor ID", "record_id")]
)
def test_seconds_since_1970_are_told_by_their_header(
    tmp_path: Path, name: str, column: str
) -> None:
    rows = [{name: f"17699283{place}000", "Nm": "55"} for place in range(10, 30)]
    [found] = draft_of(write_csv(tmp_path / "log.csv", rows)).placed[:1]
    assert (found.column.name, found.said.is_active) == (column, True)
