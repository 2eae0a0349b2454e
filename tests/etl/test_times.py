"""Local times become instants; the clock change is reported, never guessed.

Expected instants from the zones' published rules: Europe/Madrid is UTC+1, in summer
UTC+2, from 2026-03-29 02:00 to 2026-10-25 03:00 (EU directive 2000/84/EC: last Sundays
of March and October, 01:00 UTC).
"""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from etl.clock import open_half_hours
from queries.store import Store
from tests.builders import load, write_csv, write_setting_data

MAP = """
[site]
code = "PLAZA"
name = "Invented square"
time_zone = "Europe/Madrid"
[files]
match = "plaza.csv"
[columns]
record_id = "record_id"
crew_code = "crew_code"
setting_code = "setting_code"
{columns}
"""
ONE_COLUMN = 'installed_at = "when"'
TWO_COLUMNS = 'installed_on = "day"\ninstalled_time = "time"'


def stored(folder: Path, columns: str, cells: dict[str, str]) -> tuple[object, ...]:
    """Load one row; return its instant, its date and its field faults."""
    found = stored_with_reasons(folder, columns, cells)
    return *found[:2], [fault[:2] for fault in found[2]]


def stored_with_reasons(
    folder: Path, columns: str, cells: dict[str, str]
) -> tuple[object, object, list[tuple[str, str, str]]]:
    (folder / "plaza.toml").write_text(MAP.format(columns=columns), "utf-8")
    row = {"record_id": "R1", "crew_code": "C1", "setting_code": "M12-68"}
    path = write_csv(folder / "plaza.csv", [row | cells])
    store = Store(folder / "store")
    result = load(store, write_setting_data(folder), path)
    assert not result.failures
    with store.reader() as con:
        [(instant, day)] = con.execute(
            "select installed_at, installed_on::varchar from installation"
        ).fetchall()
        faults = con.execute("select column_name, raw_value, reason from field_fault")
        return instant, day, faults.fetchall()


@pytest.mark.parametrize(
    ("when", "instant", "day"),
    [
        ("2026-01-15 08:30", datetime(2026, 1, 15, 7, 30, tzinfo=UTC), "2026-01-15"),
        ("2026-07-15T08:30", datetime(2026, 7, 15, 6, 30, tzinfo=UTC), "2026-07-15"),
        ("2026-03-29 01:59", datetime(2026, 3, 29, 0, 59, tzinfo=UTC), "2026-03-29"),
        ("2026-03-29 03:00", datetime(2026, 3, 29, 1, 0, tzinfo=UTC), "2026-03-29"),
        # An offset settles it; the date is the site's own, here the next day.
        (
            "2026-10-25T02:30:00+01:00",
            datetime(2026, 10, 25, 1, 30, tzinfo=UTC),
            "2026-10-25",
        ),
        (
            "2026-07-14T23:30:00Z",
            datetime(2026, 7, 14, 23, 30, tzinfo=UTC),
            "2026-07-15",
        ),
    ],
)
def test_instants(tmp_path: Path, when: str, instant: datetime, day: str) -> None:
    assert stored(tmp_path, ONE_COLUMN, {"when": when}) == (instant, day, [])


@pytest.mark.parametrize(
    "when",
    [
        "2026-03-29 02:00",  # never shown: the clocks went from 02:00 to 03:00
        "2026-03-29 02:59",
        "2026-10-25 02:00",  # shown twice
        "2026-10-25 02:59",
    ],
)
def test_times_the_clock_change_leaves_open(tmp_path: Path, when: str) -> None:
    assert stored(tmp_path, ONE_COLUMN, {"when": when}) == (
        None,
        when[:10],
        [("installed_at", when)],
    )


# The value of a merged cell stands in its first row only, and is a fault in each.
def test_a_merged_cell_that_cannot_be_read(tmp_path: Path) -> None:
    columns = ONE_COLUMN + '\nrecheck_at = {from = "again", fill_down = true}'
    (tmp_path / "plaza.toml").write_text(MAP.format(columns=columns), "utf-8")
    row = {"crew_code": "C1", "setting_code": "M12-68", "when": "2026-05-04 08:00"}
    log = [
        row | {"record_id": "R1", "again": "2026-05-05 25:00"},
        row | {"record_id": "R2", "again": ""},
    ]
    store = Store(tmp_path / "store")
    path = write_csv(tmp_path / "plaza.csv", log)
    assert not load(store, write_setting_data(tmp_path), path).failures
    with store.reader() as con:
        faults = con.execute(
            "select source_row, raw_value, reason from field_fault order by all"
        ).fetchall()
    said = "no such time of day; expected a time as 2026-01-31T07:45"
    assert faults == [(row, "2026-05-05 25:00", said) for row in (2, 3)]


DAY_FIRST = "\n[dates]\nday_first = true"
OWN_FORMAT = '\n[dates]\nformat = "%d.%m.%Y %H:%M"'
WITH_OFFSET = '\n[dates]\nformat = "%d.%m.%Y %H:%M %z"'


# However a site writes its times, the reason says what the clocks did: never shown in
# March, shown twice in October (the directive above).
@pytest.mark.parametrize(
    ("columns", "cells"),
    [
        (ONE_COLUMN, {"when": "{iso} 02:30"}),
        (ONE_COLUMN + DAY_FIRST, {"when": "{dots} 02:30"}),
        (ONE_COLUMN, {"when": "{iso} 2:30 am"}),
        (ONE_COLUMN + OWN_FORMAT, {"when": "{dots} 02:30"}),
        (ONE_COLUMN + OWN_FORMAT, {"when": "{iso} 02:30"}),
        (TWO_COLUMNS, {"day": "{iso}", "time": "02:30"}),
        (TWO_COLUMNS, {"day": "{iso}", "time": "2:30 am"}),
    ],
)
@pytest.mark.parametrize(
    ("iso", "dots", "shown"),
    [
        ("2026-03-29", "29.03.2026", "never showed it"),
        ("2026-10-25", "25.10.2026", "showed it twice"),
    ],
)
def test_the_reason_names_the_clock_change(
    tmp_path: Path, columns: str, cells: dict[str, str], iso: str, dots: str, shown: str
) -> None:
    written = {name: cell.format(iso=iso, dots=dots) for name, cell in cells.items()}
    _, day, [(_, _, reason)] = stored_with_reasons(tmp_path, columns, written)
    assert day == iso
    assert reason.startswith(
        f"the clocks of Europe/Madrid {shown} on {iso}; expected a time as "
    )


def test_an_offset_settles_a_time_shown_twice(tmp_path: Path) -> None:
    found = stored(
        tmp_path, ONE_COLUMN + WITH_OFFSET, {"when": "25.10.2026 02:30 +0100"}
    )
    assert found == (datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "2026-10-25", [])


def test_a_time_of_no_such_offset_is_not_put_down_to_the_clocks(tmp_path: Path) -> None:
    _, _, [(_, _, reason)] = stored_with_reasons(
        tmp_path, ONE_COLUMN + WITH_OFFSET, {"when": "2026-10-25 02:30+99:00"}
    )
    expected = "expected a time as 31.01.2026 07:45 +0000"
    assert reason == f"no such offset from UTC; {expected}"


def test_date_and_time_in_two_columns(tmp_path: Path) -> None:
    found = stored(tmp_path, TWO_COLUMNS, {"day": "2026-07-15", "time": "08:30"})
    assert found == (datetime(2026, 7, 15, 6, 30, tzinfo=UTC), "2026-07-15", [])


def test_a_time_that_is_none_costs_the_instant_only(tmp_path: Path) -> None:
    found = stored(tmp_path, TWO_COLUMNS, {"day": "2026-07-15", "time": "25:00"})
    assert found == (None, "2026-07-15", [("installed_at", "25:00")])


def test_a_date_alone_is_no_instant(tmp_path: Path) -> None:
    found = stored(tmp_path, TWO_COLUMNS, {"day": "2026-07-15", "time": ""})
    assert found == (None, "2026-07-15", [])


# Samoa moved across the date line: 30 December 2011 was skipped (IANA time zone
# database, zone Pacific/Apia). Lord Howe Island moves by half an hour.
@pytest.mark.parametrize(
    ("zone", "open_time", "settled_time"),
    [
        ("Pacific/Apia", "2011-12-30 12:00", "2011-12-31 00:00"),
        ("Pacific/Apia", "2011-12-30 23:30", "2011-12-29 23:30"),
        ("Australia/Lord_Howe", "2025-10-05 02:00", "2025-10-05 02:30"),
    ],
)
def test_clocks_that_moved_by_a_day_or_by_half_an_hour(
    zone: str, open_time: str, settled_time: str
) -> None:
    found = open_half_hours(zone)
    assert datetime.fromisoformat(open_time) in found
    assert datetime.fromisoformat(settled_time) not in found
