"""A date far from all others of its file is asked about; a pause of work is not."""

from datetime import date
from pathlib import Path

import pytest

from etl.far_dates import far_words
from tests.builders import Row, build_store, load, write_log

MAY = [(date(2026, 5, day), 2) for day in range(4, 24)]


def test_a_year_that_was_mistyped_is_asked_about(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    days = [f"2026-05-{4 + number % 20:02}" for number in range(39)]
    rows: list[Row] = [{"installed_on": day} for day in [*days, "2016-05-11"]]
    [receipt, *_] = load(store, write_log(tmp_path / "log", rows)).receipts
    assert receipt.loaded == 40
    assert receipt.remarks == [
        (
            "1 of 40 rows is dated half a year or more from the others (2026-05-04 to "
            "2026-05-23), as 2016-05-11: a question whether the year is right; nothing "
            "was changed"
        )
    ]


@pytest.mark.parametrize(
    ("by_day", "is_asked"),
    [
        (MAY, False),
        ([(date(2025, 5, 5), 2), *MAY], True),
        # After as before; both together are 2 of 42.
        ([(date(2025, 5, 5), 1), *MAY, (date(2027, 5, 5), 1)], True),
        # Three of 43 are more than a slip, and a month before is near.
        ([(date(2025, 5, 5), 3), *MAY], False),
        ([(date(2026, 3, 5), 1), *MAY], False),
        ([], False),
    ],
)
def test_a_few_rows_half_a_year_away(
    by_day: list[tuple[date, int]], is_asked: bool
) -> None:
    assert bool(far_words(by_day)) is is_asked
