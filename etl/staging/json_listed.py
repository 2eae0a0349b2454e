"""Values that a JSON record lists in a list of its own: each as a row of the record."""

import re
from collections.abc import Mapping, Sequence

from etl.site_map import ListedValues

Values = Mapping[str, str | None]


def listed_within(found: Values, listed: ListedValues) -> list[Values]:
    """Return a record's values once for each object of the list that the map names.

    `found` as the reader of a line gives it, with the values of the list's objects by
    name, "answers.1.question". The record as it is where it has no such list, or
    nothing in it.
    """
    if not listed.within:
        return [found]
    start = len(listed.within) + 1
    in_list = re.compile(re.escape(listed.within) + r"\.([1-9][0-9]*)\.")
    places = dict.fromkeys(one[1] for one in map(in_list.match, found) if one)
    rows: list[Values] = [
        {
            **found,
            **{
                header: found.get(f"{listed.within}.{place}.{header[start:]}")
                for header in listed.of_value
            },
        }
        for place in places
    ]
    return [row for row in rows if _has(row, listed.of_value)] or [found]


def fault_within(rows: Sequence[Values], listed: ListedValues) -> str | None:
    """Say what is amiss with a record whose values are listed; None: nothing.

    All of it is rejected then: its rows have one number.
    """
    if len(rows) > 1 and not _has(rows[0], listed.anchor):
        return f"{', '.join(listed.anchor)}: blank, expected which anchor it is"
    for row in rows:
        if listed.within and _has(row, [listed.value]) and not _has(row, [listed.name]):
            value = row.get(listed.value)
            return f"{listed.name}: blank, expected what {value!r} is"
    return None


def _has(row: Values, headers: Sequence[str]) -> bool:
    return any((row.get(header) or "").strip() for header in headers)
