"""A day that is said by its week and its weekday, as a weekly sheet says it."""

import re
from datetime import date, timedelta
from typing import Literal

from etl.month_names import weekday_named
from etl.odd_dates import DateOrder, read_moment

# From the day that is named on, or up to it.
Way = Literal["from", "to"]

# Sunday in German, Saturday in Czech: a word with two readings has none.
_TWO_DAYS = "so"
# As ISO 8601 counts weeks: 2026-W20, KW 20/2026, week 20 of 2026; of a title KW the
# text alone, 20/2026.
_SIGN = r"(?:calendar week|kalenderwoche|woche|week|semaine|semana|settimana|kw|wk|w)"
_WEEK = re.compile(
    rf"(?P<year>[0-9]{{4}})[ /-]?{_SIGN}\.? ?(?P<week>[0-9]{{1,2}})"
    rf"|(?:{_SIGN}\.? ?)?(?P<week_first>[0-9]{{1,2}})"
    r"(?: ?[/,-] ?| of | )(?P<year_last>[0-9]{4})"
)


def read_week_day(
    week: str | None, weekday: str | None, way: Way, order: DateOrder, time_zone: str
) -> date | None:
    """Return the day; None where the week or the weekday cannot be read.

    `week` names its first or last day (`way`: "from", "to"), whichever weekday that is:
    the day is the nearest of its name from there on, or up to there. Or it numbers an
    ISO week.
    """
    name = (weekday or "").strip().rstrip(".").casefold()
    place = weekday_named(name)
    if place is None or name == _TWO_DAYS or not week:
        return None
    monday = _monday(" ".join(week.split()).casefold())
    if monday is not None:
        return monday + timedelta(place)
    day = read_moment(week, order, time_zone).day
    if day is None:
        return None
    ahead = (place - day.weekday()) % 7
    return day + timedelta(ahead if way == "from" or ahead == 0 else ahead - 7)


def is_week(text: str) -> bool:
    """Say whether a text under the name of a week numbers one of a year."""
    return _monday(" ".join(text.split()).casefold()) is not None


def _monday(text: str) -> date | None:
    found = _WEEK.fullmatch(text)
    if found is None:
        return None
    year, week = (
        int(found["year"] or found["year_last"]),
        int(found["week"] or found["week_first"]),
    )
    try:
        return date.fromisocalendar(year, week, 1)
    except ValueError:
        return None
