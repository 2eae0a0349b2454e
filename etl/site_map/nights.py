"""Nights whose small hours stand under the evening's date: the map says until when."""

from collections.abc import Collection
from datetime import time

from etl.site_map.faults import Faults, shown
from etl.site_map.tables import Table

_WHERE = ("dates", "night_until")
_NOON = time(12)


def read_night_until(
    dates: Table, names: Collection[str], faults: Faults
) -> time | None:
    """Return the time before which a row is of the day after its date; None: none is.

    `names` are the columns that are mapped. A date and a time in one cell are an
    instant, which is not dated by a shift.
    """
    if "night_until" not in dates.values:
        return None
    value = dates.values["night_until"]
    said = f"[dates] night_until = {shown(value)}"
    until = _read(value)
    if until is None or not time(0) < until <= _NOON:
        faults.add(
            _WHERE,
            f"{said}: expected the time of the morning at which a night's shift is "
            'over, as "06:00"',
        )
        return None
    for needed in ("installed_on", "installed_time"):
        if needed not in names:
            faults.add(
                _WHERE,
                f"{said} without {needed}: expected installed_on and installed_time, a "
                "column each; a date and a time in one cell are taken as they stand",
            )
    return until


def _read(value: object) -> time | None:
    try:
        return time.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None
