"""Read a date or time that is not in the site's plain format.

What a cell says is read, or it is not: a cell with two readings has none until the
site map says `day_first`.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Final, Literal
from zoneinfo import ZoneInfo

from etl.month_names import (
    day_named,
    forms_followed_by,
    is_of_month,
    weekday_before,
)

# What a site map says of the order: the day or the month comes first, it says neither,
# or it has a format of its own, and then only unmistakable dates are read besides.
DateOrder = Literal["day", "month", "unsaid", "format"]

# Nothing is loaded from before: such a date is a slip, or a spreadsheet's nought.
FIRST_YEAR: Final = 1990
# Two-digit years up to this one are of the 2000s.
PIVOT: Final = 79
# A spreadsheet's day number 0, in the 1900 system with its 29 February 1900.
_DAY_ZERO: Final = datetime(1899, 12, 30)
_SERIALS: Final = (20_000, 80_000)
MAX_LENGTH: Final = 60

# Words that etl/questions.py looks for in the reasons of rejected rows.
CONTRADICTS: Final = "contradicts day_first"
MUST_SAY: Final = "the site map must say [dates] day_first"

# 7:45, 7:45 pm, 7:45 p. m., 7:45p, 07:45:10.5, and 7h45, 7.45 Uhr, kl. 7.45, 07:45
# hrs, 7 Uhr.
# A number with a full stop may be any: it needs a word with it, as an hour alone does.
_TIME: Final = (
    r"(?P<said>(?:kl|godz)\.? ?)?(?P<hour>[0-9]{1,2})"
    r"(?:(?P<sign>:| ?h ?|\.)(?P<minute>[0-9]{2})"
    r"(?::(?P<second>[0-9]{2})(?:[.,](?P<part>[0-9]{1,9}))?)?)?"
    r"(?: ?(?P<half>[ap])(?:\.? ?m\.?|(?<=:[0-9]{2}[ap])))?"
    r"(?P<word> ?(?:uhr|hrs?|hs|h|uur)\.?)?"
)
_ZONE: Final = r"(?: ?(?P<zone>z|utc|gmt|[+-][0-9]{2}(?::?[0-9]{2})?))?"
# What a site writes between the two, as "04.05.2026 um 7.45 Uhr".
_BETWEEN: Final = r"(?:t|,? (?:(?:um|à|a las|às|alle|ore|om|at|-|–) )?)"
_AFTER: Final = rf"(?:{_BETWEEN}{_TIME}{_ZONE})?"
_DAY_SIGN: Final = " ?[-/.] ?"
_YEAR_FIRST: Final = re.compile(
    rf"(?P<a>[0-9]{{4}}){_DAY_SIGN}(?P<b>[0-9]{{1,2}}){_DAY_SIGN}(?P<c>[0-9]{{1,2}})"
    rf"\.?{_AFTER}"
)
_BASIC: Final = re.compile(
    rf"(?P<a>[12][0-9]{{3}})(?P<b>[0-9]{{2}})(?P<c>[0-9]{{2}}){_AFTER}"
)
_YEAR_LAST: Final = re.compile(
    rf"(?P<a>[0-9]{{1,2}}){_DAY_SIGN}(?P<b>[0-9]{{1,2}}){_DAY_SIGN}"
    rf"(?P<c>[0-9]{{4}}|[0-9]{{2}}){_AFTER}"
)
_NAMED: Final = forms_followed_by(_AFTER)
_SERIAL: Final = re.compile(r"(?P<days>[0-9]{5})(?:[.,](?P<part>[0-9]{1,12}))?")
# Seconds since the beginning of 1970 in UTC, as devices write them (POSIX.1-2017,
# 4.16), or thousandths or millionths of them: of 2001 to 2030. Later ones would be
# days with an hour, as 2026050409.
_SINCE_1970: Final = re.compile(
    r"(?P<seconds>1[0-8][0-9]{8})(?P<part>[0-9]{3}|[0-9]{6})?"
)
_TIME_ALONE: Final = re.compile(rf"(?:1899-12-3[01] )?{_TIME}")
# 0715, 0715 hrs: of a column of times alone, where four digits are nothing else.
_FOUR_DIGITS: Final = re.compile(
    r"(?P<hour>[0-9]{2})(?P<minute>[0-9]{2})(?: ?(?:uhr|hrs?|hs|h|uur)\.?)?"
)


@dataclass(frozen=True)
class Moment:
    """A cell read: `day` is the site's own date, `instant` is in UTC, without a zone.

    `instant` is None where no time of day was logged, and where the clock change
    leaves open which instant is meant. `found` says what is wrong with the cell.
    """

    day: date | None
    instant: datetime | None = None
    has_time: bool = False
    found: str = ""


UNREADABLE: Final = Moment(None)


@lru_cache(maxsize=65_536)
def read_moment(cell: str, order: DateOrder, time_zone: str) -> Moment:
    """Read a date, with or without a time of day, of a site in `time_zone`."""
    if len(cell) > MAX_LENGTH:
        return UNREADABLE
    text = " ".join(cell.split()).lower()
    moment = _read(text, order, time_zone)
    said = weekday_before(text) if moment is UNREADABLE else None
    return moment if said is None else _read(said[1], order, time_zone, said[0])


def _read(
    text: str, order: DateOrder, time_zone: str, weekday: int | None = None
) -> Moment:
    """Read a date; of several readings the one on `weekday`, 0 for Monday."""
    if weekday is None and (serial := _SERIAL.fullmatch(text)):
        return _serial(serial, time_zone)
    if weekday is None and (since := _SINCE_1970.fullmatch(text)):
        return _since_1970(since, time_zone)
    if found := _YEAR_FIRST.fullmatch(text) or _BASIC.fullmatch(text):
        days = _days([(found["a"], found["b"], found["c"])])
    elif order != "format" and (found := _YEAR_LAST.fullmatch(text)):
        days = _days(_readings(found, order))
        if order != "unsaid" and not days and _days(_readings(found, "unsaid")):
            is_day = order == "day"
            return Moment(None, found=f"it {CONTRADICTS} = {str(is_day).lower()}")
    elif found := _named(text):
        day = day_named(found, _full_year(found["year"]))
        days = {day} if day else set()
    else:
        return UNREADABLE
    if weekday is not None and days:
        others = " and ".join(f"{day} is a {day:%A}" for day in sorted(days))
        days = {day for day in days if day.weekday() == weekday}
        if not days:
            return Moment(None, found=others)
    if len(days) > 1:
        listed = " and ".join(str(day) for day in sorted(days))
        count = {2: "two", 3: "three"}[len(days)]
        return Moment(None, found=f"it has {count} readings, {listed}: {MUST_SAY}")
    if not days:
        return Moment(None, found="no such date")
    return _at_time(days.pop(), found, time_zone)


def _named(text: str) -> re.Match[str] | None:
    """Return the match of a date with the name of a month."""
    matches = (form.fullmatch(text) for form in _NAMED)
    return next((found for found in matches if found and is_of_month(found)), None)


def is_named(cell: str) -> bool:
    """Say whether a cell is a date with a month's name, which has one reading."""
    if len(cell) > MAX_LENGTH:
        return False
    text = " ".join(cell.split()).lower()
    _, rest = weekday_before(text) or (0, text)
    return _named(text) is not None or _named(rest) is not None


def _readings(found: re.Match[str], order: DateOrder) -> list[tuple[str, str, str]]:
    """Return the readings, as year, month, day, that an order leaves to a cell."""
    first, second, last = found["a"], found["b"], found["c"]
    day_first, month_first = (last, second, first), (last, first, second)
    if order in ("day", "month"):
        return [day_first if order == "day" else month_first]
    year_first = [(first, second, last)] if len(first) == len(last) == 2 else []
    return [day_first, month_first, *year_first]


def _days(readings: list[tuple[str, str, str]]) -> set[date]:
    days = set()
    for year, month, day in readings:
        try:
            days.add(date(_full_year(year), int(month), int(day)))
        except ValueError:
            continue
    return days


def _full_year(digits: str) -> int:
    year = int(digits)
    if len(digits) > 2:
        return year
    return 2000 + year if year <= PIVOT else 1900 + year


def _serial(found: re.Match[str], time_zone: str) -> Moment:
    """Read a spreadsheet's day number; its fraction is the time, to a second."""
    days = int(found["days"])
    if not _SERIALS[0] <= days <= _SERIALS[1]:
        return UNREADABLE
    whole = _DAY_ZERO + timedelta(days=days)
    if found["part"] is None:
        return _plausible(Moment(whole.date()))
    seconds = round(float(f"0.{found['part']}") * 86_400)
    return _plausible(_local(whole + timedelta(seconds=seconds), time_zone))


def is_day_number(cell: str, *, has_time: bool = False) -> bool:
    """Say whether a cell may be a spreadsheet's day number, with its time or alone."""
    found = _SERIAL.fullmatch(cell.strip())
    is_one = found is not None and _SERIALS[0] <= int(found["days"]) <= _SERIALS[1]
    return is_one and found is not None and (found["part"] is not None) is has_time


def is_since_1970(cell: str) -> bool:
    """Say whether a cell may be a device's count of seconds, or parts of them."""
    return _SINCE_1970.fullmatch(cell.strip()) is not None


def _since_1970(found: re.Match[str], time_zone: str) -> Moment:
    micros = int((found["part"] or "").ljust(6, "0"))
    since = timedelta(seconds=int(found["seconds"]), microseconds=micros)
    instant = datetime(1970, 1, 1, tzinfo=UTC) + since
    own = instant.astimezone(ZoneInfo(time_zone))
    return Moment(own.date(), instant.replace(tzinfo=None), has_time=True)


def _at_time(day: date, found: re.Match[str], time_zone: str) -> Moment:
    if found["hour"] is None:
        return _plausible(Moment(day))
    clock = _time(found)
    if clock is None:
        # The day is certain all the same, and its row with it.
        return _plausible(Moment(day, has_time=True, found="no such time of day"))
    local = datetime.combine(day, clock)
    if found["zone"] is None:
        return _plausible(_local(local, time_zone))
    try:
        instant = local - _offset(found["zone"])
        own = instant.replace(tzinfo=UTC).astimezone(ZoneInfo(time_zone))
    except (ValueError, OverflowError):
        return _plausible(Moment(day, has_time=True, found="no such offset from UTC"))
    return _plausible(Moment(own.date(), instant, has_time=True))


def _plausible(moment: Moment) -> Moment:
    if moment.day is not None and moment.day.year < FIRST_YEAR:
        return Moment(None, found=f"{moment.day} is before {FIRST_YEAR}")
    return moment


def _time(found: re.Match[str]) -> time | None:
    """Return the time of day, or None: no such time, or a number alone, as in 7."""
    hour, half = int(found["hour"]), found["half"]
    is_sure = found["minute"] is not None and found["sign"] != "."
    is_worded = found["word"] is not None or found["said"] is not None
    if not is_sure and half is None and not is_worded:
        return None
    if half is not None:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    micros = int((found["part"] or "").ljust(6, "0")[:6])
    try:
        return time(hour, int(found["minute"] or 0), int(found["second"] or 0), micros)
    except ValueError:
        return None


def _offset(zone: str) -> timedelta:
    if zone[0] not in "+-":
        return timedelta(0)
    digits = zone[1:].replace(":", "").ljust(4, "0")
    hours, minutes = int(digits[:2]), int(digits[2:])
    # The widest offsets in use are -12:00 and +14:00.
    if hours > 14 or minutes > 59:
        raise ValueError(zone)
    size = timedelta(hours=hours, minutes=minutes)
    return -size if zone[0] == "-" else size


def _local(local: datetime, time_zone: str) -> Moment:
    """Return a local time's moment; no instant where the clocks changed."""
    found = clock_change(local, time_zone)
    if found:
        return Moment(local.date(), has_time=True, found=found)
    instant = local.replace(tzinfo=ZoneInfo(time_zone)).astimezone(UTC)
    return Moment(local.date(), instant.replace(tzinfo=None), has_time=True)


def clock_change(local: datetime, time_zone: str) -> str:
    """Return how a clock change leaves a local time without an instant, or nothing.

    The offset of the earlier reading (fold 0 of PEP 495) is the smaller one where the
    clocks went forward, over a time they never showed.
    """
    zone = ZoneInfo(time_zone)
    offsets = [local.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1)]
    first, second = (offset or timedelta(0) for offset in offsets)
    if first == second:
        return ""
    shown = "never showed it" if first < second else "showed it twice"
    return f"the clocks of {time_zone} {shown} on {local.date()}"


@lru_cache(maxsize=65_536)
def read_time(cell: str) -> time | None:
    """Read a time of day that stands alone: 7:45 pm, or a spreadsheet's fraction."""
    text = " ".join(cell[: MAX_LENGTH + 1].split()).lower()
    if found := _TIME_ALONE.fullmatch(text):
        return _time(found)
    if found := _FOUR_DIGITS.fullmatch(text):
        hour, minute = int(found["hour"]), int(found["minute"])
        return time(hour, minute) if hour < 24 and minute < 60 else None
    if found := re.fullmatch(r"0?[.,](?P<part>[0-9]{1,17})", text):
        seconds = round(float(f"0.{found['part']}") * 86_400)
        return (_DAY_ZERO + timedelta(seconds=seconds)).time()
    return None
