"""The directives of a date's format, as DuckDB's strptime has them."""

import re

MONTHS = frozenset({"%m", "%b", "%B"})
_HOURS = frozenset({"%H", "%I"})


def written_directives(date_format: str) -> list[str]:
    """Return the directives in their order, as they are written."""
    return re.findall(r"%-?.?", date_format, re.DOTALL)


def directives(date_format: str) -> list[str]:
    """Return them in their order, %-d (without a zero in front) as %d."""
    return [found.replace("-", "") for found in written_directives(date_format)]


def has_time(date_format: str) -> bool:
    """Say whether the format reads a time of day."""
    return not _HOURS.isdisjoint(directives(date_format))


def is_day_first(date_format: str) -> bool:
    """Say whether the day stands before the month, both of which are there."""
    found = directives(date_format)
    month = next(place for place, sign in enumerate(found) if sign in MONTHS)
    return found.index("%d") < month
