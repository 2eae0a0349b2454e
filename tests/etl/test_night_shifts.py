"""Small hours dated by the evening before are asked about; rightly dated ones are not.

Expected by hand. In each log a crew works from ten in the evening to six.
"""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from tests.etl.cell_files import load_cells

EVENING, SMALL_HOURS = ("22:00", "23:30"), ("00:30", "02:30", "05:45")
DAYS = ("2026-11-16", "2026-11-17", "2026-11-18")
BY_SHIFT = [f"{day} {time}" for day in DAYS for time in (*EVENING, *SMALL_HOURS)]
BY_CALENDAR = [f"{day} {time}" for day in DAYS for time in (*SMALL_HOURS, *EVENING)]
NEWEST_FIRST = BY_CALENDAR[::-1]


def asked(
    folder: Path, times: Sequence[str], crews: Sequence[str] = ("C1",)
) -> list[str]:
    """Return the questions; the crews take turns. The first time is in row 2."""
    rows: list[dict[str, object]] = [
        {"installed_at": time, "crew": crews[number % len(crews)]}
        for number, time in enumerate(times)
    ]
    loaded = load_cells(folder, rows, columns={"installed_at": None})
    assert len(loaded.rows) == len(rows)
    return [one for one in loaded.receipt.remarks if "small hours" in one]


def test_small_hours_under_the_shift_s_date_are_asked_about(tmp_path: Path) -> None:
    [question] = asked(tmp_path, BY_SHIFT)
    assert question == (
        "9 times of small hours are logged behind an evening of the same date, as row "
        "4: 00:30 on 2026-11-16 behind 23:30: a question whether the date is that of "
        "the shift's beginning; nothing was changed"
    )


def test_each_crew_is_looked_at_by_itself(tmp_path: Path) -> None:
    # In turns with a crew of the day: rows 2, 4, 6 and so on are the night's.
    both = [
        time
        for number, night in enumerate(BY_SHIFT)
        for time in (night, f"{night[:10]} {8 + number % 5:02}:00")
    ]
    [question] = asked(tmp_path, both, ("NIGHT", "DAY"))
    assert question.startswith("9 times of small hours") and "as row 6: " in question


@pytest.mark.parametrize(
    ("times", "is_asked"),
    [
        (BY_CALENDAR, False),
        (NEWEST_FIRST, False),
        # Dated by the shift and newest first: the order does not tell it.
        (BY_SHIFT[::-1], False),
        # Two a day, newest first: each day falls from its evening to its small hours.
        ([time for time in NEWEST_FIRST if time[-5:] in ("22:00", "05:45")], False),
        # A row of each kind of anchor after the other, each kind in order of time.
        ([time for kind in range(3) for time in BY_CALENDAR[kind::3]], False),
        # Nothing but the two tells in which order they stand.
        (["2026-11-16 22:00", "2026-11-16 05:45"], False),
        (["2026-11-16 20:00", "2026-11-16 21:00", "2026-11-16 05:59"], True),
        (["2026-11-16 18:00", "2026-11-16 19:59", "2026-11-16 05:59"], False),
        (["2026-11-16 20:00", "2026-11-16 21:00", "2026-11-16 06:00"], False),
        # A late shift and, after it, one that begins before the day.
        (["2026-11-16 04:00", "2026-11-16 21:00", "2026-11-16 05:00"], False),
    ],
)
def test_only_times_in_order_that_fall_once_are_asked_about(
    tmp_path: Path, times: list[str], is_asked: bool
) -> None:
    assert len(asked(tmp_path, times)) == is_asked


def test_rightly_dated_rows_in_any_order_are_not_asked_about(tmp_path: Path) -> None:
    order = np.random.default_rng(5)
    for number in range(5):
        times = list(order.permutation(BY_CALENDAR))
        assert asked(tmp_path / str(number), times) == []
