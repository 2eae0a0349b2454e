"""Small hours under the evening's date, where the site map says that they are so.

Expected by hand: before the hour that the map names, a time is of the next day.
"""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from etl.site_map import read_site_map
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, Row, load, write_setting_data
from tests.etl.cell_files import Loaded, load_cells
from tests.etl.correcting import given_back, open_rejects, sent_again
from tests.etl.test_record_number import DAY_AND_CREW, MAP, write_daily

UNTIL_SIX = 'night_until = "06:00"'


def loaded(folder: Path, *cells: tuple[str, str], dates: str = UNTIL_SIX) -> Loaded:
    """Load rows of a date and a time, in Madrid."""
    return load_cells(
        folder,
        [{"installed_on": day, "installed_time": clock} for day, clock in cells],
        columns={"installed_on": None, "installed_time": None},
        dates=dates,
    )


def test_times_before_the_hour_are_of_the_next_day(tmp_path: Path) -> None:
    found = loaded(
        tmp_path,
        ("2026-02-16", "22:15"),
        ("2026-02-16", "0:30"),
        ("2026-02-16", "05:59"),
        ("2026-02-16", "06:00"),
        ("2026-02-16", ""),
        # Read by the words for times that a plain one is not.
        ("2026-02-28", "1.30 am"),
    )
    # Madrid is an hour ahead of UTC in winter.
    assert [
        (row["installed_on"], row["installed_at"]) for row in found.rows.values()
    ] == [
        (date(2026, 2, 16), datetime(2026, 2, 16, 21, 15, tzinfo=UTC)),
        (date(2026, 2, 17), datetime(2026, 2, 16, 23, 30, tzinfo=UTC)),
        (date(2026, 2, 17), datetime(2026, 2, 17, 4, 59, tzinfo=UTC)),
        (date(2026, 2, 16), datetime(2026, 2, 16, 5, 0, tzinfo=UTC)),
        (date(2026, 2, 16), None),
        (date(2026, 3, 1), datetime(2026, 3, 1, 0, 30, tzinfo=UTC)),
    ]


def test_without_the_key_dates_stay_and_the_question_names_it(tmp_path: Path) -> None:
    night = [("2026-02-16", clock) for clock in ("22:00", "23:00", "00:30", "02:00")]
    found = loaded(tmp_path / "plain", *night, dates="")
    assert {row["installed_on"] for row in found.rows.values()} == {date(2026, 2, 16)}
    [asked] = [one for one in found.receipt.remarks if "small hours" in one]
    assert f"([dates] {UNTIL_SIX} in the site's map says so)" in asked
    answered = loaded(tmp_path / "said", *night)
    assert not [one for one in answered.receipt.remarks if "small hours" in one]


def test_the_clock_change_is_that_of_the_day_it_was(tmp_path: Path) -> None:
    # In Madrid 02:30 did not exist on 29 March 2026; the evening is the 28th's.
    found = loaded(tmp_path, ("2026-03-28", "02:30"), ("2026-03-29", "02:30"))
    first, second = found.rows.values()
    assert (first["installed_on"], first["installed_at"]) == (date(2026, 3, 29), None)
    assert "2026-03-29" in found.faults[0, "installed_at"][1]
    assert second["installed_at"] == datetime(2026, 3, 30, 0, 30, tzinfo=UTC)


def test_a_day_that_has_not_come_is_refused_by_the_day_it_was(tmp_path: Path) -> None:
    # The clock of tests, and a day of grace for sites ahead of it.
    last = (NOW.date().replace(day=NOW.day + 1)).isoformat()
    found = loaded(tmp_path, (last, "23:00"), (last, "00:30"))
    assert list(found.rows) == [0]
    reason, words = found.rejected[1]
    assert reason == "future_date"
    # It names the date as it stands, which is one of those expected.
    assert words.endswith("the small hours of a night are of the day after its date")


NIGHT: list[Row] = [
    {"No.": 1, "Day": "16.2.2026", "Time": "23:00"},
    {"No.": 2, "Day": "16.2.2026", "Time": "01:00"},
    {"No.": 2, "Day": "17.2.2026", "Time": "22:00"},
    {"No.": 3, "Day": "17.2.2026", "Time": "03:00", "Code": "M99"},
]


@pytest.fixture
def nightly(tmp_path: Path) -> tuple[Store, Path]:
    """A log whose numbers begin again with each date, and its map."""
    log = write_daily(tmp_path, NIGHT)
    text = MAP.format(record_id=DAY_AND_CREW).replace(
        "[dates]", f"[dates]\n{UNTIL_SIX}"
    )
    log.with_suffix(".toml").write_text(text, "utf-8")
    store = Store(tmp_path / "store")
    result = load(store, write_setting_data(tmp_path), log)
    assert not result.failures, result.failures
    return store, log


def records(store: Store) -> list[tuple[str, str]]:
    with store.reader() as con:
        return con.execute(
            "select record_id, installed_on::varchar from installation order by all"
        ).fetchall()


def test_numbers_of_a_shift_count_within_its_date(nightly: tuple[Store, Path]) -> None:
    # Two anchors number 2 stand on the 17th: of the 16th's shift, and of its own.
    assert records(nightly[0]) == [
        ("2026-02-16/C3/1", "2026-02-16"),
        ("2026-02-16/C3/2", "2026-02-17"),
        ("2026-02-17/C3/2", "2026-02-17"),
    ]


def test_a_mended_row_is_read_by_the_same_hour(
    nightly: tuple[Store, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store, _ = nightly
    [row] = given_back(store, capsys)
    sent_again(store, tmp_path / "mended.csv", [row | {"Code": "M12-68"}])
    assert ("2026-02-17/C3/3", "2026-02-18") in records(store)
    assert open_rejects(store) == []


@pytest.mark.parametrize(
    ("line", "columns", "fault"),
    [
        ('night_until = "6"', "", r"night_until = '6': expected the time of the morn"),
        ("night_until = 6", "", r"night_until = 6: expected the time of the morning"),
        ('night_until = "00:00"', "", "expected the time of the morning"),
        ('night_until = "12:01"', "", "expected the time of the morning"),
        (UNTIL_SIX, 'installed_time = "Time"\n', "without installed_time: expected"),
    ],
)
def test_a_map_s_faults_are_named(
    tmp_path: Path, line: str, columns: str, fault: str
) -> None:
    text = MAP.format(record_id=DAY_AND_CREW).replace("[dates]", f"[dates]\n{line}")
    path = tmp_path / "night.toml"
    path.write_text(text.replace(columns, ""), "utf-8")
    with pytest.raises(FirmsetError, match=fault):
        read_site_map(path)
