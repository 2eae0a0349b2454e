"""A weekly sheet's day is drafted from its week and weekdays. Expected by hand."""

from pathlib import Path

import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.site_map import read_site_map
from tests.builders import build_store, load
from tests.etl.test_workbook_parts import write_week

ROWS = "No,Day,Crew,Setting code\n1,Mon,A,M12-68\n2,Tue,A,M12-68\n3,Sun,A,M12-68\n"


def line_of(tmp_path: Path, text: str) -> str:
    """Return what the draft of a log says of the day."""
    path = tmp_path / "yard.csv"
    path.write_text(text, "utf-8")
    lines = toml_of(draft_of(path)).splitlines()
    return next(line for line in lines if "installed_on" in line)


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("Week commencing:,2026-05-11", 'week_from = "Week commencing"'),
        ("Week commencing: 2026-05-11", 'week_from = "Week commencing"'),
        ("Week beginning 2026-05-11", 'week_from = "Week beginning"'),
        ("W/c,14 May 2026", 'week_from = "W/c"'),
        ("KW: 2026-W20", 'week_from = "KW"'),
        ("KW: 20/2026", 'week_from = "KW"'),
        ("Semaine du 2026-05-11", 'week_from = "Semaine du"'),
        ("Week ending,2026-05-17", 'week_to = "Week ending"'),
    ],
)
def test_the_week_stands_above(tmp_path: Path, title: str, said: str) -> None:
    line = line_of(tmp_path, f"{title}\n{ROWS}")
    assert line.startswith(f'installed_on = {{{said}, weekday = "Day"}}  # likely')


def test_the_week_has_a_column(tmp_path: Path) -> None:
    rows = ROWS.replace("No,", "No,Week,").replace(",Mon", ",2026-W20,Mon")
    rows = rows.replace(",Tue", ",2026-W20,Tue").replace(",Sun", ",2026-W21,Sun")
    line = line_of(tmp_path, rows)
    assert line.startswith('installed_on = {week_from = "Week", weekday = "Day"}')


def test_a_time_of_day_stands_beside_the_weekday(tmp_path: Path) -> None:
    path = tmp_path / "yard.csv"
    rows = ROWS.replace("No,Day", "No,Time,Day")
    for number, hour in ((1, "07:45"), (2, "12:10"), (3, "16:30")):
        rows = rows.replace(f"\n{number},", f"\n{number},{hour},")
    path.write_text(f"Week commencing: 2026-05-11\n{rows}", "utf-8")
    lines = toml_of(draft_of(path)).splitlines()
    assert any(line.startswith('installed_time = "Time"') for line in lines)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        # A sheet's numbers go on over its days: the next sheet begins again.
        (ROWS, '#   within = ["Week commencing"] in record_id? they count from 1'),
        # They begin again each day, and there is a Monday in every week.
        (
            ROWS.replace("2,Tue", "1,Tue").replace("3,Sun", "2,Tue"),
            'record_id = {from = "No", within = ["Week commencing", "Day"]}  # likely',
        ),
    ],
)
def test_a_weekday_alone_does_not_tell_the_numbers_of_weeks_apart(
    tmp_path: Path, rows: str, said: str
) -> None:
    path = tmp_path / "yard.csv"
    path.write_text(f"Week commencing,2026-05-11\n{rows}", "utf-8")
    lines = toml_of(draft_of(path)).splitlines()
    assert any(line.startswith(said) for line in lines)


@pytest.mark.parametrize(
    "text",
    [
        f"Week commencing,soon\n{ROWS}",
        # May, it may be.
        f"Period: 05/2026\n{ROWS}",
        f"Working week,2026-05-11\n{ROWS}",
        f"Week commencing,2026-05-11\n{ROWS.replace('Tue', 'Gate 2')}",
    ],
)
def test_without_a_week_and_weekdays_the_day_is_asked(
    tmp_path: Path, text: str
) -> None:
    assert line_of(tmp_path, text).startswith("# installed_on")


def test_a_date_of_its_own_is_the_day(tmp_path: Path) -> None:
    rows = ROWS.replace("Day", "Day,Date").replace("Mon", "Mon,2026-05-11")
    rows = rows.replace("Tue", "Tue,2026-05-12").replace("Sun", "Sun,2026-05-17")
    line = line_of(tmp_path, f"Week commencing,2026-05-11\n{rows}")
    assert line.startswith('installed_on = "Date"  # sure')


def test_what_is_drafted_is_loaded(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    log, site_map = tmp_path / "yard.csv", tmp_path / "yard.toml"
    log.write_text(f"Week ending,17.05.2026\n{ROWS}", "utf-8")
    found = draft_of(log)
    assert found.unplaced == () and found.dates.date_format == "%d.%m.%Y"
    site_map.write_text(toml_of(found), "utf-8")
    assert read_site_map(site_map).titles == ("Week ending",)
    assert not load(store, log, site_map).failures
    with store.reader() as con:
        days = con.execute(
            "select installed_on::varchar from installation order by record_id"
        ).fetchall()
    assert days == [("2026-05-11",), ("2026-05-12",), ("2026-05-17",)]


def sheet_of(number: int) -> list[list[object]]:
    names: list[object] = ["No", "Crew", "Setting code"]
    return [["Week:", "2026-W20"], names, [f"A{number}", "C1", "M12-68"]]


def test_the_sheets_are_the_weekdays(tmp_path: Path) -> None:
    sheets = {name: sheet_of(place) for place, name in enumerate(("Mo", "Di", "Fr"))}
    log = write_week(tmp_path, sheets)
    text = toml_of(draft_of(log))
    assert 'sheet = "{weekday}"  # likely' in text
    (tmp_path / "week.toml").write_text(text, "utf-8")
    store = build_store(tmp_path / "held")
    assert not load(store, log, tmp_path / "week.toml").failures
    with store.reader() as con:
        days = con.execute(
            "select installed_on::varchar from installation order by record_id"
        ).fetchall()
    assert days == [("2026-05-11",), ("2026-05-12",), ("2026-05-15",)]


def test_numbers_of_a_sheet_a_weekday_count_within_both(tmp_path: Path) -> None:
    names: list[object] = ["No", "Crew", "Setting code"]
    rows: list[list[object]] = [[number, "C1", "M12-68"] for number in (1, 2, 3)]
    sheet = [["Week:", "2026-W20"], names, *rows]
    log = write_week(tmp_path, {"Mo": sheet, "Di": sheet})
    within = 'within = ["Week", "weekday"]'
    text = toml_of(draft_of(log))
    assert f"#   {within} in record_id?" in text
    text = text.replace('record_id = "No"', f'record_id = {{from = "No", {within}}}')
    (tmp_path / "week.toml").write_text(text, "utf-8")
    result = load(build_store(tmp_path / "held"), log, tmp_path / "week.toml")
    assert [receipt.loaded for receipt in result.receipts] == [3, 3]


def test_sheets_of_other_names_are_no_weekdays(tmp_path: Path) -> None:
    sheets = {"Mo": sheet_of(1), "Hall": sheet_of(2)}
    text = toml_of(draft_of(write_week(tmp_path, sheets)))
    assert "# installed_on or installed_at" in text
