"""The placebo test of the training effect, on the store's own past."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import duckdb
import polars as pl

from queries.errors import FirmsetError
from queries.readers.before_after import (
    Window,
    count_before_after,
    read_mix_change,
)
from queries.readers.days import read_judged_days
from queries.readers.training import WEEKS
from queries.readers.trainings import read_trainings
from queries.selection import Selection
from queries.statistics.placebo import Placebo, placebo_test


@dataclass(frozen=True)
class PlaceboResult:
    """`on`: the days on which each crew was taken as trained, though it was not."""

    check_name: str
    weeks: int
    on: tuple[date, ...]
    test: Placebo


def read_placebo(
    con: duckdb.DuckDBPyConnection,
    check_name: str,
    selection: Selection,
    weeks: int = WEEKS,
    seed: int = 1,
) -> PlaceboResult:
    """Return how often the estimate claims an effect where no training was.

    Days: every `weeks` weeks from the first Monday that has so many before it, while
    so many follow. Crews: all of the selection, but at each day those that the
    register says were trained on the check within its window. Raises FirmsetError
    where the dates are too few for one such day.
    """
    whole = replace(selection, crew_codes=())
    days = read_judged_days(con, check_name, whole, "crew")
    register = read_trainings(con, Selection(check_names=(check_name,)))
    windows = _windows(days, weeks, check_name)
    counted = []
    for window in windows:
        within = days.filter(
            pl.col("installed_on").is_between(window.first, window.last)
            & ~pl.col("group_name").is_in(list(window.trained(register)))
        )
        if not within.is_empty():
            of_window = replace(whole, from_on=window.first, to_on=window.last)
            mix = read_mix_change(con, check_name, of_window, window.on)
            counted.append(count_before_after(within, window.on, mix).counts)
    test = placebo_test(counted, seed)
    return PlaceboResult(
        check_name, weeks, tuple(window.on for window in windows), test
    )


def _windows(days: pl.DataFrame, weeks: int, check_name: str) -> list[Window]:
    span = timedelta(weeks=weeks)
    worked = days["installed_on"].sort()
    windows = []
    if len(worked):
        # Whole weeks, so that an idle weekend at the end costs no window.
        day = worked[0] - timedelta(days=worked[0].weekday()) + span
        end = worked[-1] + timedelta(days=7 - worked[-1].weekday())
        while day + span <= end:
            windows.append(Window(day, weeks))
            day += span
    if not windows:
        raise FirmsetError(
            f"--placebo: {check_name} is judged over less than {2 * weeks} weeks; "
            "expected that many, or fewer --weeks"
        )
    return windows
