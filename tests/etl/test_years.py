"""Dates without a year: the site map gives it, and the draft finds which it may be.

Expected by hand, from README's sentences on `year`.
"""

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from etl.draft.draft import Draft, draft_of
from etl.draft.write import toml_of
from etl.intake import IntakeResult
from etl.site_map import read_site_map
from etl.site_map.years import with_year
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv
from tests.etl.test_pieces import ROW, values, write_pieces

LEAD = "[columns]\nrecord_id"


def load_days(folder: Path, cells: list[str], dates: str) -> tuple[Store, IntakeResult]:
    """Load rows with such dates; `dates` are the lines of the map's table."""
    path = write_pieces(folder / "log", [{"Day": cell} for cell in cells], "")
    map_path = path.with_suffix(".toml")
    text = map_path.read_text("utf-8")
    map_path.write_text(text.replace(LEAD, f"[dates]\n{dates}\n{LEAD}"), "utf-8")
    store = build_store(folder)
    result = load(store, path, now=datetime(2027, 3, 1, tzinfo=UTC))
    assert not result.failures, result.failures
    return store, result


@pytest.mark.parametrize(
    ("cell", "dates"),
    [
        ("04.05.", 'format = "%d.%m.%Y"'),
        ("04.05", 'format = "%d.%m.%Y"'),
        (" 4. 5. ", "day_first = true"),
        ("5/4", "day_first = false"),
        ("04-05", "day_first = true"),
        ("Mo 04.05.", "day_first = true"),
        ("Mon 4 May", ""),
        ("4. Mai", ""),
        ("4-May", ""),
        ("4 de mayo", ""),
        ("1er août", ""),
        ("May 4", ""),
        ("May 4th", ""),
        # What has a year keeps it, whatever the map gives.
        ("04.05.2026", 'format = "%d.%m.%Y"'),
        ("2026-05-04", ""),
        ("04.05.26", "day_first = true"),
    ],
)
def test_a_date_gets_the_year_of_the_map(tmp_path: Path, cell: str, dates: str) -> None:
    year = 2025 if "26" in cell else 2026
    store, _ = load_days(tmp_path, [cell], f"{dates}\nyear = {year}")
    day = date(2026, 8, 1) if "août" in cell else date(2026, 5, 4)
    assert values(store, "installed_on") == [(day,)]


def test_a_time_of_day_stays_behind_it(tmp_path: Path) -> None:
    columns = 'installed_at = "Set"\n'
    rows: list[Row] = [{"Set": "04.05. 7.30 Uhr"}, {"Set": "May 4, 07:30"}]
    path = write_pieces(tmp_path / "log", rows, "")
    text = path.with_suffix(".toml").read_text("utf-8")
    text = text.replace(LEAD, f"[dates]\nday_first = true\nyear = 2026\n{LEAD}")
    text = text.replace('installed_on = "Day"\n', columns)
    path.with_suffix(".toml").write_text(text, "utf-8")
    store = build_store(tmp_path)
    assert not load(store, path).failures
    # Madrid is two hours ahead of UTC in May.
    at = datetime(2026, 5, 4, 5, 30, tzinfo=UTC)
    assert values(store, "installed_at") == [(at,), (at,)]


@pytest.mark.parametrize("cell", ["04.05.", "Di 04.05.", "32.05.", "05.", "May"])
def test_no_other_date_is_made_of_it(tmp_path: Path, cell: str) -> None:
    """Without a year, on a Tuesday that is none, on no day, or with half a date."""
    dates = "day_first = true" + ("\nyear = 2026" if cell != "04.05." else "")
    store, result = load_days(tmp_path, [cell], dates)
    assert [receipt.rejected for receipt in result.receipts] == [1]
    with store.reader() as con:
        rejected = con.execute("select raw_text, reason from rejected_row")
        [(raw, reason)] = rejected.fetchall()
    assert cell in str(raw)
    assert "expected a date as" in reason


@pytest.mark.parametrize("year", ['"2026"', "26", "true", "2026.0", "1989", "2100"])
def test_another_year_is_refused(tmp_path: Path, year: str) -> None:
    path = write_pieces(tmp_path, [ROW], "").with_suffix(".toml")
    text = path.read_text("utf-8").replace(LEAD, f"[dates]\nyear = {year}\n{LEAD}")
    path.write_text(text, "utf-8")
    with pytest.raises(FirmsetError, match=r"line 9: \[dates\] year = "):
        read_site_map(path)


def test_a_log_over_new_year_is_asked_about(tmp_path: Path) -> None:
    dates = "day_first = true\nyear = 2026"
    _, result = load_days(tmp_path, ["30.12.", "31.12.", "04.01.", "05.01."], dates)
    [remark] = [one for one in result.receipts[-1].remarks if "New Year" in one]
    # The header is row 1.
    assert remark.startswith("row 4 is early in the year after one late in it")
    assert "are taken for 2026" in remark
    # In order, and with years that say so.
    for number, days in enumerate((["05.01.", "31.12."], ["31.12.2025", "05.01."])):
        _, calm = load_days(tmp_path / f"calm{number}", days, dates)
        assert not [one for one in calm.receipts[-1].remarks if "New Year" in one]


def test_what_is_no_date_without_a_year_is_left() -> None:
    for cell in ("", "12.5.26", "2026", "46146", "07:30", "Level 2 of 3", "1.2.3"):
        assert with_year(cell, 2026) == cell


def drafted(path: Path, cells: list[str], header: str = "Datum") -> Draft:
    rows = [
        {"No.": str(number), header: cell, "Crew": "K1", "Setting data": "M12-68"}
        for number, cell in enumerate(cells, start=1)
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    return draft_of(write_csv(path, rows))


def test_a_draft_takes_the_year_of_the_file_s_name(tmp_path: Path) -> None:
    path = tmp_path / "Protokoll 2025 Turm.csv"
    draft = drafted(path, ["04.05.", "28.05.", "01.06."])
    assert tomllib.loads(toml_of(draft))["dates"] == {
        "format": "%d.%m.%Y",
        "year": 2025,
    }
    path.with_suffix(".toml").write_text(toml_of(draft), "utf-8")
    store = build_store(tmp_path)
    assert not load(store, path).failures
    days = [(date(2025, 5, 4),), (date(2025, 5, 28),), (date(2025, 6, 1),)]
    assert values(store, "installed_on") == days


@pytest.mark.parametrize(
    "name", ["log.csv", "2025 bis 2026.csv", "log EN 1992-4:2018.csv"]
)
def test_a_draft_asks_for_the_year_that_no_name_says(tmp_path: Path, name: str) -> None:
    draft = drafted(tmp_path / name, ["4 mai", "28 mai", "1 juin"])
    assert "# year = " in toml_of(draft)
    assert "year" not in tomllib.loads(toml_of(draft))["dates"]
    assert [one.header for one in draft.active if one.column.name == "installed_on"]


@pytest.mark.parametrize(
    ("header", "cells"),
    [
        ("Torque", ["12.5", "11.5", "12.0"]),
        ("Depth in", ["3/8", "5/8", "1/2"]),
        ("Datum", ["04.05.2026", "05.05.2026", "06.05.2026"]),
    ],
)
def test_a_draft_makes_no_dates_of_figures(
    tmp_path: Path, header: str, cells: list[str]
) -> None:
    assert drafted(tmp_path / "log 2025.csv", cells, header).header.year is None
