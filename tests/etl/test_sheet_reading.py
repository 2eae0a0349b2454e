"""How a file of master data is recognised and read, and what becomes of its rows."""

import json
from datetime import datetime
from pathlib import Path

import pytest
import xlsxwriter

from dashboard.command import main
from etl.sheets.declaration import Sheet
from etl.sheets.registry import SHEETS
from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import SETTING, build_store, load, write_csv, write_log

CREW = {"crew_code": "C1", "crew_name": "North team"}


def _write(folder: Path, name: str, text: str, encoding: str = "utf-8") -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_bytes(text.encode(encoding))
    return path


def _crews(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select crew_code, crew_name, site_code, employer from crew order by all"
        ).fetchall()


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("crew_code,crew_name,site_code,employer\n c1 ,North team,harbour,\n", "utf-8"),
        (
            "employer;site_code;crew_name;crew_code\r\n;HARBOUR;North team;C1\r\n",
            "utf-8",
        ),
        ("crew_code,crew_name,site_code\nC1,North team,HARBOUR\n", "utf-8-sig"),
        ("crew_code\tcrew_name\tsite_code\r\nC1\tNorth team\tHARBOUR\r\n", "utf-16"),
        ("crew_code;crew_name;site_code\rC1;North team;HARBOUR\r", "ascii"),
        # As a spreadsheet writes a used range: blank rows, blank columns at the end.
        ("crew_code,crew_name,site_code,,\n,,,,\nC1,North team,HARBOUR,,\n\n", "utf-8"),
    ],
)
def test_forms_of_the_same_sheet(tmp_path: Path, text: str, encoding: str) -> None:
    store = build_store(tmp_path)
    [receipt] = load(store, _write(tmp_path, "crews.csv", text, encoding)).receipts
    assert (receipt.rows_read, receipt.loaded) == (1, 1)
    assert (receipt.content, receipt.site_code) == ("crews", None)
    assert _crews(store) == [("C1", "North team", "HARBOUR", None)]


# As a spreadsheet keeps one: dates and numbers typed, a note's sheet behind it, a blank
# row. Named so that the header has to be looked at.
def test_a_workbook_of_a_sheet(tmp_path: Path) -> None:
    path = tmp_path / "wrench_calibrations 2026.xlsx"
    names = "wrench_code calibrated_on valid_cycles range_low_nm range_high_nm"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        day = book.add_format({"num_format": "dd.mm.yyyy"})
        sheet.write_row(0, 0, names.split())
        for row, code in ((1, 7), (3, "W8")):
            sheet.write_row(row, 0, [code, None, 5000, 20.5, 100])
            sheet.write_datetime(row, 1, datetime(2026, 3, 31), day)
        sheet.write_row(4, 0, ["W9", "soon", 5000, 20, 100])
        book.add_worksheet("notes").write(0, 0, "invented")
    store = build_store(tmp_path)
    [receipt] = load(store, path).receipts
    assert (receipt.content, receipt.loaded) == ("wrench calibrations", 2)
    with store.reader() as con:
        held = con.execute(
            "select wrench_code, calibrated_on::varchar, valid_cycles, range_low_nm "
            "from wrench_calibration order by all"
        ).fetchall()
        [reject] = read_rejects(con).to_dicts()
    assert held == [("7", "2026-03-31", 5000, 20.5), ("W8", "2026-03-31", 5000, 20.5)]
    assert reject["source_row"] == 5
    assert reject["reason"].startswith("calibrated_on = 'soon': expected a date")


def test_a_damaged_workbook_of_a_sheet_fails_alone(tmp_path: Path) -> None:
    crews = write_csv(tmp_path / "crews.csv", [CREW])
    damaged = _write(tmp_path, "inspectors_may.xlsx", "PK no workbook")
    result = load(build_store(tmp_path), damaged, crews)
    assert [receipt.content for receipt in result.receipts] == ["crews"]
    [failure] = result.failures
    assert failure.startswith(f"{damaged}: is a damaged workbook")


@pytest.mark.parametrize(
    "name", ["crews.csv", "CREWS.CSV", "crews_2026.csv", "Crews-2.csv"]
)
def test_a_sheet_is_known_by_its_name(tmp_path: Path, name: str) -> None:
    store = build_store(tmp_path)
    [receipt] = load(store, write_csv(tmp_path / name, [CREW])).receipts
    assert receipt.content == "crews"


@pytest.mark.parametrize("name", ["setting-data.csv", "Setting Data.csv"])
def test_setting_data_are_known_however_they_are_spaced(
    tmp_path: Path, name: str
) -> None:
    sheet = write_csv(tmp_path / name, [SETTING | {"setting_code": "NEW"}])
    [receipt] = load(build_store(tmp_path / "held"), sheet).receipts
    assert (receipt.content, receipt.loaded) == ("setting data", 1)


def test_a_site_log_may_begin_its_name_like_a_sheet(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    log = write_log(tmp_path / "more", [{}], site="crews", name="of_may")
    assert log.name == "crews_of_may.csv"
    [receipt] = load(store, log).receipts
    assert (receipt.content, receipt.loaded) == ("installations", 1)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("crewsheet.csv", "its columns are those of crews: name it crews.csv"),
        (
            "crews.jsonl",
            "put the site's .toml beside it or name its folder with --maps",
        ),
    ],
)
def test_another_name_is_a_log_and_wants_a_site_map(
    tmp_path: Path, name: str, words: str
) -> None:
    store = build_store(tmp_path / "held")
    [failure] = load(store, write_csv(tmp_path / name, [CREW])).failures
    assert failure.endswith(f"{name}: no site map matches this name; {words}")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("crew_code,colour\nC1,red\n", "row 1: missing columns: crew_name: expected"),
        ("crew_code,colour\nC1,red\n", "row 1: unknown columns: colour: expected"),
        ("crew_code\nC1\n", "(employer); those in brackets may be left out"),
        ("crew_code,crew_name,crew_name\n", "columns named twice: crew_name"),
        ("crew_code,,crew_name\n", "unknown columns: (blank)"),
        ("", "missing columns: crew_code, crew_name"),
        (
            'crew_code,crew_name\nC1,"North\nC2,South\n',
            "is no CSV with commas, semicolons or tabs",
        ),
    ],
)
def test_a_file_that_is_no_such_sheet_is_refused(
    tmp_path: Path, text: str, fault: str
) -> None:
    store = build_store(tmp_path)
    result = load(store, _write(tmp_path, "crews.csv", text))
    assert not result.receipts
    [failure] = result.failures
    assert failure.startswith(f"{tmp_path / 'crews.csv'}: ")
    assert fault in failure
    assert _crews(store) == []


def test_a_faulty_row_is_rejected_and_the_rest_is_loaded(tmp_path: Path) -> None:
    text = (
        "bit_code,nominal_diameter_mm,first_used_on,retired_on\n"
        "B1,12,2026-01-05,\n"
        "B2,thick,2026-13-01,\n"
        ",14,,\n"
        "B4,14,2026-05-02,2026-05-01\n"
        "B5,14,,,surplus\n"
    )
    store = build_store(tmp_path)
    [receipt] = load(store, _write(tmp_path, "bits.csv", text)).receipts
    assert (receipt.rows_read, receipt.loaded, receipt.rejected) == (5, 1, 4)
    with store.reader() as con:
        rejects = read_rejects(con, receipt.source_file_id).to_dicts()
    expected = [
        (
            3,
            "unreadable_value",
            (
                "nominal_diameter_mm = 'thick': expected a number of mm above 0, or "
                "with its unit, as 2 3/8\"; first_used_on = '2026-13-01': expected a "
                "date such as 2026-03-31 or 31 March 2026, from 1950 to 2099, or blank"
            ),
        ),
        (4, "missing_value", "bit_code = '': expected a code"),
        (
            5,
            "contradiction",
            (
                "first_used_on = 2026-05-02, retired_on = 2026-05-01: expected "
                "first_used_on ≤ retired_on"
            ),
        ),
        (6, "unreadable_line", "5 cells: expected the 4 of the header"),
    ]
    assert [
        (row["source_row"], row["reason_code"], row["reason"]) for row in rejects
    ] == expected
    assert json.loads(rejects[0]["raw_text"]) == {
        "bit_code": "B2",
        "nominal_diameter_mm": "thick",
        "first_used_on": "2026-13-01",
        "retired_on": "",
    }
    assert json.loads(rejects[3]["raw_text"])["column 5"] == "surplus"


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_an_empty_sheet_is_known_and_has_no_fault(
    tmp_path: Path, sheet: Sheet, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", sheet.name]) == 0
    text = capsys.readouterr().out
    assert text.splitlines()[0].split(",")[0] == sheet.key[0]
    result = load(build_store(tmp_path), _write(tmp_path, f"{sheet.name}.csv", text))
    [receipt] = result.receipts
    assert (receipt.content, receipt.rows_read) == (sheet.content, 0)


# 31/03 tells of the file that the day comes first, 03/31 that the month does; where
# both stand, or neither, a date of two readings is rejected.
@pytest.mark.parametrize(
    ("days", "expected", "remarks"),
    [
        (
            ("31/03/2026", "04/03/2026", "5.3.26", "2026-03-06"),
            ("2026-03-31", "2026-03-04", "2026-03-05", "2026-03-06"),
            ["dates are read with the day first"],
        ),
        (
            ("03/31/2026", "04/03/2026"),
            ("2026-03-31", "2026-04-03"),
            ["dates are read with the month first"],
        ),
        (("31/03/2026", "03/31/2026", "04/03/2026"), ("2026-03-31",) * 2 + (None,), []),
        (("31. März 2026", "04.03.2026"), ("2026-03-31", None), []),
    ],
)
def test_dates_as_written_by_one_hand(
    tmp_path: Path,
    days: tuple[str, ...],
    expected: tuple[str | None, ...],
    remarks: list[str],
) -> None:
    store = build_store(tmp_path, [{"wrench_code": "W"}])
    rows = [
        {
            "wrench_code": f"W{number}",
            "calibrated_on": day,
            "range_low_nm": 0,
            "range_high_nm": "100,5",
        }
        for number, day in enumerate(days)
    ]
    sheet = write_csv(tmp_path / "wrench_calibrations.csv", rows)
    [receipt] = load(store, sheet).receipts
    assert receipt.remarks == remarks
    with store.reader() as con:
        held = dict(
            con.execute(
                "select wrench_code, calibrated_on::varchar from wrench_calibration"
            ).fetchall()
        )
        reasons = read_rejects(con)["reason"].to_list()
    assert tuple(held.get(f"W{number}") for number in range(len(days))) == expected
    assert len(reasons) == expected.count(None)
    assert all(
        "it has two readings, 2026-03-04 and 2026-04-03" in one for one in reasons
    )


# As spreadsheets name what they save with tabs.
@pytest.mark.parametrize("suffix", [".txt", ".tsv"])
def test_a_sheet_saved_as_text(tmp_path: Path, suffix: str) -> None:
    store = build_store(tmp_path)
    text = "crew_code\tcrew_name\nC1\tNorth team\n"
    [receipt] = load(store, _write(tmp_path, f"crews{suffix}", text)).receipts
    assert (receipt.content, receipt.loaded) == ("crews", 1)


def test_a_row_that_ends_before_its_date(tmp_path: Path) -> None:
    text = "wrench_code,range_low_nm,range_high_nm,calibrated_on\nW1,5,90\n"
    store = build_store(tmp_path)
    sheet = _write(tmp_path, "wrench_calibrations.csv", text)
    [receipt] = load(store, sheet).receipts
    assert (receipt.rows_read, receipt.rejected) == (1, 1)


def test_a_key_twice_in_a_file(tmp_path: Path) -> None:
    """The same content is a duplicate; other content is not guessed between."""
    rows = [CREW, {"crew_code": " c1", "crew_name": "North team"}]
    store = build_store(tmp_path)
    sheet = write_csv(
        tmp_path / "crews.csv", [*rows, {"crew_code": "C1", "crew_name": "Other"}]
    )
    [receipt] = load(store, sheet).receipts
    fates = (receipt.loaded, receipt.revised, receipt.duplicate, receipt.rejected)
    assert fates == (1, 0, 1, 1)
    with store.reader() as con:
        [reject] = read_rejects(con, receipt.source_file_id).to_dicts()
    assert (reject["source_row"], reject["reason_code"]) == (4, "repeated_key")
    assert reject["reason"].startswith("crew_code = 'C1': stands in row 2 already")
    assert _crews(store) == [("C1", "North team", None, None)]


def test_rows_are_numbered_as_in_a_spreadsheet(tmp_path: Path) -> None:
    """A blank line counts, and a cell of two lines does not count twice."""
    text = 'crew_code,crew_name\n\nC1,"North\nteam"\n,South\n'
    store = build_store(tmp_path)
    [receipt] = load(store, _write(tmp_path, "crews.csv", text)).receipts
    with store.reader() as con:
        [reject] = read_rejects(con, receipt.source_file_id).to_dicts()
        held = con.execute("select source_row from crew").fetchall()
    assert (held, reject["source_row"]) == ([(3,)], 4)
