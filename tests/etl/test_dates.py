"""Dates as sites write them: read where they have one reading, else reported.

Expected dates are read off the cell by a person; day numbers of spreadsheets from their
documented base (45000 is 15 March 2023; from memory), offsets of Europe/Madrid from EU
directive 2000/84/EC: UTC+1, from the last Sunday of March to that of October UTC+2.
"""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.etl.cell_files import load_cells

DAY, MONTH = "day_first = true", "day_first = false"
SEVEN = datetime(2026, 2, 1, 6, 45, tzinfo=UTC)  # 07:45 in Madrid in winter
NINETEEN = datetime(2026, 2, 1, 18, 45, tzinfo=UTC)
# [dates] of the map, cell of installed_at, date, instant
READ = [
    (DAY, "1.2.26", date(2026, 2, 1), None),
    (DAY, "01/02/2026", date(2026, 2, 1), None),
    (DAY, "1-2-2026", date(2026, 2, 1), None),
    (MONTH, "2-1-2026", date(2026, 2, 1), None),
    (DAY, "01.02.2026 07:45", date(2026, 2, 1), SEVEN),
    (DAY, "1.2.26 07:45:00", date(2026, 2, 1), SEVEN),
    (DAY, "1/2/2026 7:45 pm", date(2026, 2, 1), NINETEEN),
    # As Spanish writes it (RAE, Ortografía), with a no-break space in spreadsheets.
    (DAY, "1/2/2026 7:45 p.\u00a0m.", date(2026, 2, 1), NINETEEN),
    (MONTH, "2/1/26, 7:45PM", date(2026, 2, 1), NINETEEN),
    (MONTH, "2/1/26 7:45 a.m.", date(2026, 2, 1), SEVEN),
    (DAY, "\u00a01.2.26 ", date(2026, 2, 1), None),
    # Unmistakable, whatever the map says.
    (DAY, "2026-02-01", date(2026, 2, 1), None),
    (DAY, "2026-02-01T06:45Z", date(2026, 2, 1), SEVEN),
    (DAY, "2026-02-01T07:45:00.000+01:00", date(2026, 2, 1), SEVEN),
    ("", "2026-02-01 7:45 pm", date(2026, 2, 1), NINETEEN),
    ("", "2026/02/01 07:45", date(2026, 2, 1), SEVEN),
    ("", "20260201", date(2026, 2, 1), None),
    ("", "2026-02-01T00:45-06", date(2026, 2, 1), SEVEN),
    ('format = "%d.%m.%Y %H:%M"', "01.02.2026 07:45", date(2026, 2, 1), SEVEN),
    ('format = "%-m/%-d/%Y %-H:%M"', "2/1/2026 7:45", date(2026, 2, 1), SEVEN),
    ('format = "%-d.%-m.%Y %-I:%M %p"', "1.2.2026 7:45 AM", date(2026, 2, 1), SEVEN),
    ('format = "%d.%m.%Y %H:%M"', "2026-02-01T07:45", date(2026, 2, 1), SEVEN),
    ('format = "%d.%m.%Y %H:%M %z"', "01.02.2026 06:45 +0000", date(2026, 2, 1), SEVEN),
    # A month by its name, in any of the languages and whatever the map says.
    ("", "1 February 2026", date(2026, 2, 1), None),
    (MONTH, "1-feb-26", date(2026, 2, 1), None),
    (DAY, "Sun, Feb 1st, 2026 7:45 pm", date(2026, 2, 1), NINETEEN),
    (DAY, "2026-Feb-01", date(2026, 2, 1), None),
    ("", "So 1. Februar 2026 07:45", date(2026, 2, 1), SEVEN),
    ("", "1er févr. 2026", date(2026, 2, 1), None),
    ("", "1 de febrero de 2026", date(2026, 2, 1), None),
    ("", "01/fev/2026", date(2026, 2, 1), None),
    ("", "segunda-feira, 2 de fev. de 2026", date(2026, 2, 2), None),
    ('format = "%d-%b-%y %H:%M"', "1-Feb-26 07:45", date(2026, 2, 1), SEVEN),
    ('format = "%d-%b-%y %H:%M"', "1-fév-26 07:45", date(2026, 2, 1), SEVEN),
    ('format = "%d-%b-%y %H:%M"', "4-mag-26", date(2026, 5, 4), None),
    ("", "12 mrt 2026", date(2026, 3, 12), None),
    # Behind a weekday, which may settle what comes first: 2026-01-02 was a Friday.
    (DAY, "So 01.02.2026", date(2026, 2, 1), None),
    ("", "dom 01/02/2026", date(2026, 2, 1), None),
    (MONTH, "Sun., 02/01/2026 7:45 pm", date(2026, 2, 1), NINETEEN),
    ("", "segunda-feira, 02/02/26", date(2026, 2, 2), None),
    (DAY, "woensdag 04-02-2026", date(2026, 2, 4), None),
    ("", "donderdag 5 feb 2026", date(2026, 2, 5), None),
    ("", "gio 05/02/2026", date(2026, 2, 5), None),
    # March, and a Tuesday.
    ("", "Mar 3, 2026", date(2026, 3, 3), None),
    ("", "mar. 3 févr. 2026", date(2026, 2, 3), None),
    # What is said beside a time of day.
    (DAY, "So., 01.02.26 7.45 Uhr", date(2026, 2, 1), SEVEN),
    (DAY, "dimanche 01/02/2026 à 7h45", date(2026, 2, 1), SEVEN),
    (DAY, "01.02.2026 um 07:45 Uhr", date(2026, 2, 1), SEVEN),
    (DAY, "01/02/2026 - 07:45 hrs", date(2026, 2, 1), SEVEN),
    ("", "2026-02-01 7 h 45", date(2026, 2, 1), SEVEN),
    # With blanks, and words of other languages beside them.
    (DAY, "1. 2. 2026", date(2026, 2, 1), None),
    (MONTH, "2 / 1 / 2026", date(2026, 2, 1), None),
    ("", "2026. 02. 01.", date(2026, 2, 1), None),
    ("", "1 lutego 2026 r.", date(2026, 2, 1), None),
    (DAY, "01.02.2026 kl. 07.45", date(2026, 2, 1), SEVEN),
    (DAY, "01.02.2026 godz. 7:45", date(2026, 2, 1), SEVEN),
    ('format = "%d. %m. %Y %H:%M"', "1. 2. 2026 07:45", date(2026, 2, 1), SEVEN),
    ('format = "%d. %m. %Y %H:%M"', "01. 02. 2026 7:45", date(2026, 2, 1), SEVEN),
    # A spreadsheet's day numbers.
    ("", "45000", date(2023, 3, 15), None),
    (DAY, "46054.5", date(2026, 2, 1), datetime(2026, 2, 1, 11, tzinfo=UTC)),
    # Seconds since 1970, as GNU date -u -d @N has them, or parts of them.
    (
        DAY,
        "1234567890",
        date(2009, 2, 14),
        datetime(2009, 2, 13, 23, 31, 30, tzinfo=UTC),
    ),
    ("", "1769928300250", date(2026, 2, 1), SEVEN.replace(microsecond=250_000)),
    ('format = "%d.%m.%Y %H:%M"', "1769928300000000", date(2026, 2, 1), SEVEN),
    # One reading only, though the map does not say which comes first.
    ("", "13/04/2026", date(2026, 4, 13), None),
    ("", "04.04.2026", date(2026, 4, 4), None),
    # The date is the site's own, the instant as the offset says.
    (
        "",
        "2026-07-14T23:30:00Z",
        date(2026, 7, 15),
        datetime(2026, 7, 14, 23, 30, tzinfo=UTC),
    ),
]


def test_dates_that_are_read(tmp_path: Path) -> None:
    for number, dates in enumerate(dict.fromkeys(dates for dates, *_ in READ)):
        mine = [case[1:] for case in READ if case[0] == dates]
        loaded = load_cells(
            tmp_path / str(number),
            [{"installed_at": cell} for cell, *_ in mine],
            columns={"installed_at": None},
            dates=dates,
        )
        assert loaded.rejected == {}
        # A date without a time leaves the time unrecorded: no midnight, no fault.
        assert loaded.faults == {}
        found = [
            (row["installed_on"], row["installed_at"])
            for _, row in sorted(loaded.rows.items())
        ]
        assert found == [(day, instant) for _, day, instant in mine], dates


# [dates] of the map, the cell, and what the reason says behind it.
REJECTED = [
    ("", "03/04/2026", "it has two readings, 2026-03-04 and 2026-04-03: the site map"),
    ("", "03.04.2026 07:45", "must say [dates] day_first; expected a date as 2026-01"),
    ("", "02/03/26", "it has three readings, 2002-03-26 and 2026-02-03 and 2026-03-02"),
    (DAY, "04/13/2026", "it contradicts day_first = true; expected a date as 31.01"),
    (MONTH, "13.04.26", "it contradicts day_first = false; expected a date as 01/31"),
    (DAY, "31.02.2026", "no such date; expected"),
    (DAY, "Mo 01.02.2026", "2026-02-01 is a Sunday; expected a date as 31.01"),
    ("", "Mo 01/02/2026", "2026-01-02 is a Friday and 2026-02-01 is a Sunday; expec"),
    ("", "Mo 31.02.2026", "no such date; expected"),
    (DAY, "Xy 01.02.2026", "expected a date as 31.01.2026"),
    (DAY, "Mo 46054", "expected a date as 31.01.2026"),
    (DAY, "So 1769928300", "expected a date as 31.01.2026"),
    (DAY, "1.2.85", "1985-02-01 is before 1990; expected"),
    ("", "20000", "1954-10-03 is before 1990; expected"),
    ("", "1899-12-30 07:45:00", "1899-12-30 is before 1990; expected"),
    ("", "infinity", "from 1990 on, or a spreadsheet's number of a"),
    # A day with an hour, or none of it: of no year from 2001 to 2030.
    ("", "2026050409", "expected a date as 2026-01-31, from"),
    ("", "1900000000", "expected a date as 2026-01-31, from"),
    ("", "17699283000", "expected a date as 2026-01-31, from"),
    ("", "99999", "from 1990 on, or a spreadsheet's number of a day"),
    (DAY, "1.2.2026 CET", "expected a date"),
    (DAY, "５.2.2026", "expected a date"),
    (DAY, "#N/A", "expected a date"),
    # What a word before it means is not known, nor that of no month.
    ("", "before 4 May 2026", "expected a date as 2026-01-31, from"),
    ("", "4 Mat 2026", "from 1990 on, or a spreadsheet's number"),
    ("", "31 Feb 2026", "no such date; expected"),
    ('format = "%d.%m.%Y %H:%M"', "5/4/2026", "expected a date as 31.01.2026 07:45"),
    ('format = "%-d %b %y %H"', "1.2.2026", "a date as 31 Jan 26 07, from 1990"),
    ('format = "%d.%m.%Y %H:%M"', "01.02.26", "expected a date as 31.01.2026 07:45"),
]


def test_dates_that_are_not_guessed(tmp_path: Path) -> None:
    for name in ("installed_on", "installed_at"):
        for dates in dict.fromkeys(dates for dates, *_ in REJECTED):
            mine = [case[1:] for case in REJECTED if case[0] == dates]
            loaded = load_cells(
                tmp_path / f"{name}{len(dates)}",
                [{name: cell} for cell, _ in mine],
                columns={name: None},
                dates=dates,
            )
            assert loaded.rows == {}
            for row, (cell, words) in enumerate(mine):
                code, reason = loaded.rejected[row]
                assert code == "no_date"
                assert reason.startswith(f"{name}: '{cell}', ")
                assert words in reason


# 04:00 UTC on 1 July is 06:00 in Madrid but still 30 June, 21:00, in Los Angeles.
@pytest.mark.parametrize(
    ("zone", "today", "latest", "after"),
    [
        ("Europe/Madrid", "2026-07-01", "2026-07-02", "2026-07-03"),
        ("America/Los_Angeles", "2026-06-30", "2026-07-01", "2026-07-02"),
    ],
)
def test_dates_after_tomorrow_are_rejected(
    tmp_path: Path, zone: str, today: str, latest: str, after: str
) -> None:
    loaded = load_cells(
        tmp_path,
        [{"installed_on": latest}, {"installed_on": after}],
        columns={"installed_on": None},
        zone=zone,
        now=datetime(2026, 7, 1, 4, tzinfo=UTC),
    )
    assert list(loaded.rows) == [0]
    words = (
        f"installed_on: '{after}', expected a date no later than {latest}: the load's "
        f"clock shows {today}"
    )
    assert loaded.rejected == {1: ("future_date", words)}


def test_a_time_that_is_none_costs_the_instant_only(tmp_path: Path) -> None:
    cells = ["2026-05-04 25:00", "2026-03-29 02:30", "29.03.2026 2:30 am"]
    loaded = load_cells(
        tmp_path,
        [{"installed_at": cell} for cell in cells],
        columns={"installed_at": None},
        dates=DAY,
    )
    assert loaded.rejected == {}
    days = [row["installed_on"] for _, row in sorted(loaded.rows.items())]
    assert days == [date(2026, 5, 4), date(2026, 3, 29), date(2026, 3, 29)]
    reasons = [loaded.faults[row, "installed_at"][1] for row in range(3)]
    assert reasons[0].startswith("no such time of day; expected a time as 31.01.2026")
    never = "the clocks of Europe/Madrid never showed it on 2026-03-29; expected a time"
    assert reasons[1].startswith(never)
    assert reasons[2].startswith(never)


def test_a_later_check_without_a_time_is_a_fault(tmp_path: Path) -> None:
    loaded = load_cells(
        tmp_path, [{"recheck_at": "2026-05-05"}], columns={"recheck_at": None}
    )
    raw, reason = loaded.faults[0, "recheck_at"]
    assert raw == "2026-05-05"
    assert reason.startswith("found a date without a time of day; expected a time as")


# Expected: the time of day in Madrid in summer, two hours after UTC.
@pytest.mark.parametrize(
    "cell",
    [
        *("7:45 p. m.", "7:45\u202fp.\u00a0m."),
        *("19:45", "7:45 pm", "07:45PM", "7:45p", "0.82291667", "1899-12-31 19:45:00"),
        *("1945", "1945 hrs", "1945h", "1945 Uhr"),
        *("19:45 Uhr", "19.45 Uhr", "19h45", "19 h 45", "19:45 hrs.", "7.45 pm"),
    ],
)
def test_a_time_in_a_column_of_its_own(tmp_path: Path, cell: str) -> None:
    loaded = load_cells(
        tmp_path,
        [{"installed_on": "4.5.26", "installed_time": cell}],
        columns={"installed_on": None, "installed_time": None},
        dates=DAY,
    )
    assert loaded.rows[0]["installed_at"] == datetime(2026, 5, 4, 17, 45, tzinfo=UTC)
    assert loaded.faults == {}


# A number with a full stop may be any, and an hour alone is one only with a word.
@pytest.mark.parametrize(
    ("cell", "hour"), [("8 Uhr", 6), ("8h", 6), ("8", None), ("8a", None)]
)
def test_an_hour_alone_needs_a_word(
    tmp_path: Path, cell: str, hour: int | None
) -> None:
    # Nor is a number of four digits one that no clock shows.
    cells = [cell, "8.15", "2475"]
    loaded = load_cells(
        tmp_path,
        [{"installed_on": "4.5.26", "installed_time": one} for one in cells],
        columns={"installed_on": None, "installed_time": None},
        dates=DAY,
    )
    found = loaded.rows[0]["installed_at"]
    assert found == (datetime(2026, 5, 4, hour, tzinfo=UTC) if hour else None)
    assert [loaded.rows[row]["installed_at"] for row in (1, 2)] == [None, None]
    assert [row for row, _ in loaded.faults] == ([1, 2] if hour else [0, 1, 2])
