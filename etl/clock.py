"""Local times that a change of the clocks skipped or repeated."""

from bisect import bisect_left
from datetime import UTC, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo

_WEEK_H = 24 * 7


@cache
def open_half_hours(time_zone: str) -> list[datetime]:
    """Return the local half hours, 1990 to 2050, that name no or two instants."""
    zone = ZoneInfo(time_zone)
    first = datetime(1990, 1, 1, tzinfo=UTC)
    weeks = [first + timedelta(days=7 * number) for number in range(60 * 52 + 14)]
    offsets = [_offset(week, zone) for week in weeks]
    return [
        half
        for week, before, after in zip(weeks, offsets, offsets[1:], strict=False)
        if before != after
        for half in _open_half_hours_near(_changing_hour(week, zone), zone)
    ]


def _offset(instant: datetime, zone: ZoneInfo) -> timedelta | None:
    return instant.astimezone(zone).utcoffset()


def _changing_hour(week: datetime, zone: ZoneInfo) -> datetime:
    """Return the start of the hour of a week in which the zone's offset changes.

    Found by halving: no zone of the IANA database changed twice in a week since 1990.
    """
    before = _offset(week, zone)
    changed = bisect_left(
        range(_WEEK_H),
        True,
        key=lambda hour: _offset(week + timedelta(hours=hour), zone) != before,
    )
    return week + timedelta(hours=changed - 1)


def _open_half_hours_near(hour: datetime, zone: ZoneInfo) -> list[datetime]:
    """Look as far to either side as the clocks were moved, and an hour more.

    Mostly an hour; Samoa skipped a whole day in 2011.
    """
    before = hour.astimezone(zone).replace(tzinfo=None)
    after = (hour + timedelta(hours=1)).astimezone(zone).replace(tzinfo=None)
    moved = abs(after - before - timedelta(hours=1))
    margin = moved + timedelta(hours=1)
    first = before.replace(minute=0) - margin
    count = (2 * margin + moved) // timedelta(minutes=30) + 4
    half_hours = [first + timedelta(minutes=30 * step) for step in range(count)]
    return [half for half in half_hours if not _names_one_instant(half, zone)]


def _names_one_instant(local: datetime, zone: ZoneInfo) -> bool:
    first = local.replace(tzinfo=zone, fold=0)
    second = local.replace(tzinfo=zone, fold=1)
    return first.utcoffset() == second.utcoffset()
