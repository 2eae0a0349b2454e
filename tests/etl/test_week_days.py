"""A day by its week and weekday, as a weekly sheet has it.

11 May 2026 is a Monday, and the first day of ISO week 20 (Python's date.isocalendar).
"""

from datetime import date
from pathlib import Path

import pytest

from etl.site_map import read_site_map
from etl.week_days import Way, read_week_day
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load

MAP = """
[site]
code = "YARD"
name = "Invented yard"
time_zone = "Europe/Lisbon"

[files]
match = "*.csv"
header_row = {row}
titles = ["Week"]

[dates]
{dates}

[columns]
record_id = "No"
installed_on = {{{day}}}
crew_code = "Crew"
setting_code = "Type"
"""


@pytest.mark.parametrize(
    ("week", "weekday", "way", "day"),
    [
        ("2026-05-11", "Mon", "from", 11),
        ("2026-05-11", "Tuesday", "from", 12),
        ("11 May 2026", "Sonntag", "from", 17),
        ("11 May 2026", "sobota", "from", 16),
        # A week from Saturday on: its Monday is the next one.
        ("2026-05-09", "Mon", "from", 11),
        ("2026-05-09", "Sat", "from", 9),
        # Up to a Sunday, or to a Friday.
        ("2026-05-17", "dimanche", "to", 17),
        ("2026-05-17", "Mon", "to", 11),
        ("2026-05-15", "fri", "to", 15),
        ("2026-05-15", "lundi", "to", 11),
        ("2026-W20", "wt.", "from", 12),
        ("KW 20/2026", "Di", "to", 12),
        ("20/2026", "Di", "from", 12),
        ("Week 20 of 2026", "Tue", "from", 12),
    ],
)
def test_the_day_of_a_week(week: str, weekday: str, way: Way, day: int) -> None:
    found = read_week_day(week, weekday, way, "day", "UTC")
    assert found == date(2026, 5, day)


@pytest.mark.parametrize(
    ("week", "weekday"),
    [
        ("2026-05-11", "Shift"),
        ("2026-05-11", "So."),  # Sunday in German, Saturday in Czech.
        ("2026-05-11", ""),
        ("2026-05-11", None),
        (None, "Mon"),
        ("", "Mon"),
        ("2026-W54", "Mon"),
        ("05/06/2026", "Mon"),  # Two readings, and no map that settles it.
        ("Week 20", "Mon"),
    ],
)
def test_what_is_no_day_of_a_week(week: str | None, weekday: str | None) -> None:
    assert read_week_day(week, weekday, "from", "unsaid", "UTC") is None


def loaded(
    tmp_path: Path, text: str, *, day: str, dates: str = "", row: int = 2
) -> tuple[Store, list[tuple[str, str]], list[str]]:
    """Return the store, days by record number, and the reasons of rejected rows."""
    store = build_store(tmp_path)
    log, site_map = tmp_path / "yard.csv", tmp_path / "yard.toml"
    log.write_text(text, "utf-8")
    site_map.write_text(MAP.format(day=day, dates=dates, row=row), "utf-8")
    assert not load(store, log, site_map).failures
    with store.reader() as con:
        days = con.execute(
            "select record_id, installed_on::varchar from installation order by all"
        ).fetchall()
        reasons = con.execute("select reason from rejected_row order by all").fetchall()
    return store, days, [reason for (reason,) in reasons]


DAY = 'week_from = "Week", weekday = "Day"'
ROWS = "No,Day,Crew,Type\n1,Mon,A,M12-68\n2,,A,M12-68\n3,Wed,A,M12-68\n"


@pytest.mark.parametrize(
    ("week", "dates"),
    [
        ("2026-05-11", ""),
        ("11/05/2026", "day_first = true"),
        ("11.05.2026", 'format = "%d.%m.%Y"'),
        ("11. May", "year = 2026"),
        ("2026-W20", 'format = "%d.%m.%Y"'),
    ],
)
def test_a_weekly_sheet_is_loaded(tmp_path: Path, week: str, dates: str) -> None:
    text = f"Week,{week}\n{ROWS}"
    day = f"{DAY}, fill_down = true"
    _, days, reasons = loaded(tmp_path, text, day=day, dates=dates)
    assert not reasons
    assert days == [("1", "2026-05-11"), ("2", "2026-05-11"), ("3", "2026-05-13")]


def test_merged_weekdays_number_and_reject_their_rows(tmp_path: Path) -> None:
    # Each day begins anew with 1; the last row lacks its crew.
    store = build_store(tmp_path)
    text = MAP.format(
        row=2,
        dates="",
        day='week_from = "Week", weekday = "Day", fill_down = true',
    ).replace('"No"', '{from = "No", within = ["Week", "Day"]}')
    log = tmp_path / "week.csv"
    log.with_suffix(".toml").write_text(text, "utf-8")
    log.write_text(
        "Week: 2026-05-11,,,\nNo,Day,Crew,Type\n1,Mon,A,M12-68\n2,,A,M12-68\n"
        "1,Tue,A,M12-68\n2,,A,M12-68\n3,,,M12-68\n",
        "utf-8",
    )
    [receipt] = load(store, log).receipts
    assert (receipt.loaded, receipt.rejected) == (4, 1)
    with store.reader() as con:
        days = con.execute(
            "select installed_on::varchar from installation order by all"
        ).fetchall()
        [(raw,)] = con.execute("select raw_text from rejected_row").fetchall()
    assert days == [("2026-05-11",)] * 2 + [("2026-05-12",)] * 2
    # Given back whole, so that it can be sent alone.
    assert "Tue" in raw and "2026-05-11" in raw


def test_both_cells_are_named_where_no_day_can_be_read(tmp_path: Path) -> None:
    _, days, reasons = loaded(tmp_path, f"Week,2026-05-11\n{ROWS}", day=DAY)
    assert days == [("1", "2026-05-11"), ("3", "2026-05-13")]
    [reason] = reasons
    assert reason.startswith("Week + Day: '2026-05-11 + ', expected a date")
    text = f"Week,2026-05-11\n{ROWS}".replace("Wed", "Holiday")
    _, _, reasons = loaded(tmp_path / "other", text, day=DAY)
    assert reasons[1].startswith("Week + Day: '2026-05-11 + Holiday', expected a date")


@pytest.mark.parametrize(
    "day",
    [
        'week_from = "Week"',
        'weekday = "Day"',
        'week_from = "Week", week_to = "Week", weekday = "Day"',
        'week_from = "Day", weekday = "Day"',
        'week_from = "Week", weekday = ""',
        'week_from = "Week", weekday = "Day", from = "Day"',
    ],
)
def test_a_map_that_says_no_week_and_weekday_is_refused(
    tmp_path: Path, day: str
) -> None:
    path = tmp_path / "yard.toml"
    path.write_text(MAP.format(day=day, dates="", row=2), "utf-8")
    with pytest.raises(FirmsetError, match="expected the header of a week's first day"):
        read_site_map(path)
