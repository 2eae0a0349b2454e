"""Local times that a change of the clocks skipped or repeated."""

from datetime import UTC, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo


@cache
def open_half_hours(time_zone: str) -> list[datetime]:
    """Return the local half hours, 1990 to 2050, that name no or two instants."""
    zone = ZoneInfo(time_zone)
    steps = [
        (timedelta(days=7), 60 * 52 + 13),
        (timedelta(days=1), 7),
        (timedelta(hours=1), 24),
    ]
    starts = [datetime(1990, 1, 1, tzinfo=UTC)]
    for step, count in steps:
        starts = [
            found
            for start in starts
            for found in _changing_steps(start, step, count, zone)
        ]
    return [half for hour in starts for half in _open_half_hours_near(hour, zone)]


def _changing_steps(
    start: datetime, step: timedelta, count: int, zone: ZoneInfo
) -> list[datetime]:
    """Return the starts of those steps in which the zone's offset changes."""
    starts = [start + number * step for number in range(count + 1)]
    offsets = [instant.astimezone(zone).utcoffset() for instant in starts]
    return [
        instant
        for instant, before, after in zip(starts, offsets, offsets[1:], strict=False)
        if before != after
    ]


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
