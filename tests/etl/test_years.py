"""Dates without a year: the site map gives it, and the draft finds which it may be.

Expected by hand, from the manual's sentences on `year`.
"""

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.drafted import Draft
from etl.draft.write import toml_of
from etl.intake import IntakeResult
from etl.site_map import read_site_map
from etl.site_map.years import YearFrom, is_in_months, with_year
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
    assert "write the year it begins in and first_month = 12 under [dates]" in remark
    # In order, and with years that say so.
    told = "day_first = true\nyear = 2025\nfirst_month = 12"
    over = ["31.12.", "05.01."]
    calm_ones = (
        (["05.01.", "31.12."], dates),
        (["31.12.2025", "05.01."], dates),
        (over, told),
    )
    for number, (days, given) in enumerate(calm_ones):
        _, calm = load_days(tmp_path / f"calm{number}", days, given)
        assert not [one for one in calm.receipts[-1].remarks if "New Year" in one]


def test_what_is_no_date_without_a_year_is_left() -> None:
    for cell in ("", "12.5.26", "2026", "46146", "07:30", "Level 2 of 3", "1.2.3"):
        assert with_year(cell, YearFrom(2026, 12)) == cell


OVER_NEW_YEAR = "year = 2025\nfirst_month = 11"


# 2 January 2026 was a Friday, 29 December 2025 a Monday.
@pytest.mark.parametrize(
    ("cell", "dates", "day"),
    [
        ("29.12.", 'format = "%d.%m.%Y"', date(2025, 12, 29)),
        ("2.1.", 'format = "%d.%m.%Y"', date(2026, 1, 2)),
        ("12.1.", 'format = "%-d.%-m.%Y"', date(2026, 1, 12)),
        ("3.12.", 'format = "%d.%-m.%Y"', date(2025, 12, 3)),
        ("12/3", 'format = "%-m/%-d/%Y"', date(2025, 12, 3)),
        ("1/2", 'format = "%m/%d/%Y"', date(2026, 1, 2)),
        ("12/29", "day_first = false", date(2025, 12, 29)),
        ("Fr 02.01.", "day_first = true", date(2026, 1, 2)),
        ("01.11", "day_first = true", date(2025, 11, 1)),
        ("31.10", "day_first = true", date(2026, 10, 31)),
        ("2 janv.", "", date(2026, 1, 2)),
        ("1er août", "", date(2026, 8, 1)),
        ("Mon Dec 29", "", date(2025, 12, 29)),
        ("Jan 2nd", "", date(2026, 1, 2)),
        ("1º de março", "", date(2026, 3, 1)),
        ("02.01.2027", "day_first = true", date(2027, 1, 2)),
    ],
)
def test_months_before_the_first_are_of_the_next_year(
    tmp_path: Path, cell: str, dates: str, day: date
) -> None:
    store, _ = load_days(tmp_path, [cell], f"{dates}\n{OVER_NEW_YEAR}")
    assert values(store, "installed_on") == [(day,)]


def test_a_leap_day_of_the_next_year() -> None:
    assert with_year("29.02.", YearFrom(2027, 10)) == "29.02.2028"


@pytest.mark.parametrize("month", range(1, 13))
def test_a_month_is_told_by_its_number_and_its_name(month: int) -> None:
    named = date(2026, month, 1).strftime("%B")
    for cell in (f"7.{month:02}.", f"7-{month}", f"7. {named}", f"{named} 7th, 8:15"):
        told = [one for one in range(1, 13) if is_in_months(cell, [one])]
        assert told == [month]
    assert is_in_months(f"{month}/7", [month], day_first=False)


@pytest.mark.parametrize(
    ("lines", "fault"),
    [
        (
            "year = 2025\nfirst_month = 0",
            r"line 10: \[dates\] first_month = 0: expected",
        ),
        ("year = 2025\nfirst_month = true", "first_month = True: expected a month"),
        ("first_month = 11", "line 9: .dates. first_month = 11 without year"),
    ],
)
def test_another_first_month_is_refused(tmp_path: Path, lines: str, fault: str) -> None:
    path = write_pieces(tmp_path, [ROW], "").with_suffix(".toml")
    text = path.read_text("utf-8").replace(LEAD, f"[dates]\n{lines}\n{LEAD}")
    path.write_text(text, "utf-8")
    with pytest.raises(FirmsetError, match=fault):
        read_site_map(path)


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


# As a list has it that was first written by hand.
def test_a_draft_takes_the_year_of_the_dates_that_have_one(tmp_path: Path) -> None:
    draft = drafted(tmp_path / "log.csv", ["28.05.2025", "29.05.", "01.06."])
    dates = tomllib.loads(toml_of(draft))["dates"]
    assert dates == {"format": "%d.%m.%Y", "year": 2025}
    # Two years, or a bare date of the next: the one that is written is not that of all.
    for cells in (
        ["28.05.2025", "29.05.", "01.06.2026"],
        ["30.12.2025", "02.01.", "03.01."],
    ):
        asked = drafted(tmp_path / "log.csv", cells)
        assert "# year = " in toml_of(asked)
        assert "year" not in tomllib.loads(toml_of(asked)).get("dates", {})


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
        ("Datum", ["46146", "46147", "46148"]),
    ],
)
def test_a_draft_makes_no_dates_of_figures(
    tmp_path: Path, header: str, cells: list[str]
) -> None:
    assert drafted(tmp_path / "log 2025.csv", cells, header).header.year is None


# The year of a name alone may be the first or the last of such a log.
@pytest.mark.parametrize(
    ("name", "cells", "is_active"),
    [
        ("Turm 2025-2026.csv", ["14.11.", "30.12.", "02.01."], True),
        ("Turm 2025.csv", ["14.11.", "30.12.", "02.01."], False),
        ("Turm.csv", ["11/14", "12/30", "1/2"], False),
        ("Turm 2025 2026.csv", ["14 nov", "30 déc", "2 janv"], True),
    ],
)
def test_a_draft_tells_a_log_over_new_year(
    tmp_path: Path, name: str, cells: list[str], is_active: bool
) -> None:
    draft = drafted(tmp_path / name, cells)
    dates = tomllib.loads(toml_of(draft)).get("dates", {})
    assert draft.header.year is not None
    assert draft.header.year.value.first_month == 11
    assert {"year", "first_month"}.isdisjoint(dates) is not is_active
    if is_active:
        assert (dates["year"], dates["first_month"]) == (2025, 11)
    [days] = [one for one in draft.placed if one.column.name == "installed_on"]
    years = {cell[-4:] for cell in days.looks.filled}
    assert len(years) == 2
