"""Record numbers that count within a day, a crew or an area, and begin again."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from etl.draft.header import Header
from etl.draft.looks import Looks
from etl.draft.match import is_count
from etl.draft.placed import Placed
from etl.draft.said import Said
from etl.draft.sites import SitesFound

# What sites number within, the most usual first, before whatever else the file has.
# Common practice, no source.
_DAYS = ("installed_on", "installed_at")
_USUAL = (*_DAYS, "crew_code", "work_area")
_MOST_TRIED = 8
_MOST_AT_ONCE = 3
# Fewer numbers that come again are slips of the pen.
LEAST_AGAIN = 0.1
_FEWEST_COUNTED = 3
_MOST_AT_FOOT = 3


def within_of(
    header: Header,
    looks: Sequence[Looks],
    placed: Sequence[Placed],
    sites: SitesFound | None = None,
) -> Said[tuple[str, ...]] | None:
    """Return the headers within which the record numbers count; None: no sign of it.

    A row that only says another again does not count, nor does a further revision. Of
    a log of several sites each has numbers of its own.
    """
    active = {one.column.name: one for one in placed if one.said.is_active}
    if "record_id" not in active:
        return None
    numbered = active["record_id"].looks.cells
    first = {tuple(row): place for place, row in reversed([*enumerate(header.rows)])}
    places = sorted(place for place in first.values() if numbered[place])
    own = [[numbered[place] for place in places]]
    if "revision" in active:
        own.append([active["revision"].looks.cells[place] for place in places])
    if sites is not None:
        own.append([sites.of_rows[place] for place in places])
    again = _again(own)
    if not again:
        return _asked(own[0], active, header)
    tried = {
        name: [cells[place] for place in places]
        for name, cells in _candidates(header, looks, placed).items()
        if sites is None or name != sites.header
    }
    for size in range(1, _MOST_AT_ONCE + 1):
        for headers in combinations(tried, size):
            if not _again([*own, *(tried[name] for name in headers)]):
                is_much = again >= LEAST_AGAIN * len(places)
                within = _with_weeks(headers, placed)
                return Said(
                    within,
                    "likely" if is_much else "guess",
                    f"{again} of {len(places)} numbers come again, none with the same "
                    f"{' and '.join(within)}",
                )
    return None


def _with_weeks(headers: Sequence[str], placed: Sequence[Placed]) -> tuple[str, ...]:
    """Return headers with the week before its weekday, which comes again every week."""
    weeks = {one.header: one.week.header for one in placed if one.week}
    known = [(weeks.get(header, header), header) for header in headers]
    return tuple(dict.fromkeys(header for pair in known for header in pair))


def with_record_asked(
    placed: Sequence[Placed],
    within: Said[tuple[str, ...]] | None,
    sites: SitesFound | None = None,
) -> list[Placed]:
    """Return the columns, a record's number a guess where it comes again and again.

    In one site, of a log of several: that it comes again at another says nothing.
    """
    return [
        replace(one, said=_number_said(one, within, sites))
        if one.column.name == "record_id"
        else one
        for one in placed
    ]


def _number_said(
    one: Placed, within: Said[tuple[str, ...]] | None, sites: SitesFound | None
) -> Said[str | None]:
    """Return how sure it is that a record's number is one."""
    if is_count(one.header):
        return Said(None, "guess", "it may count the anchors of a row")
    if _distinct_share(one, sites) >= 1 - LEAST_AGAIN:
        if one.looks.distinct_share >= 1 - LEAST_AGAIN:
            return one.said
        return Said(None, "likely", "each site has numbers of its own")
    if within is not None and within.is_active:
        return one.said
    return Said(None, "guess", f"{one.said.reason}: within what?")


def _distinct_share(one: Placed, sites: SitesFound | None) -> float:
    """Return the share of different numbers, those of each site counted by itself."""
    of_rows = sites.of_rows if sites is not None else [""] * len(one.looks.cells)
    pairs = [
        (number, of)
        for number, of in zip(one.looks.cells, of_rows, strict=True)
        if number
    ]
    return len(set(pairs)) / len(pairs) if pairs else 0.0


def _candidates(
    header: Header, looks: Sequence[Looks], placed: Sequence[Placed]
) -> dict[str, list[str]]:
    """Return headers that numbers may count within, and their cells, filled down."""
    by_name = {one.column.name: one.header for one in placed}
    usual = [by_name[name] for name in _USUAL if name in by_name]
    taken = {one.header for one in placed}
    others = [
        name
        for name, its in zip(header.names, looks, strict=True)
        if name not in taken and its.filled and its.distinct_share < 1 - LEAST_AGAIN
    ]
    of_header = dict(zip(header.names, looks, strict=True))
    instant = by_name.get("installed_at")
    return {
        name: _filled_down(of_header[name].cells, is_instant=name == instant)
        for name in [*usual, *others][:_MOST_TRIED]
    }


def _filled_down(cells: Sequence[str], *, is_instant: bool) -> list[str]:
    """Return cells, of a time its day, of a merged cell its value."""
    filled, last = [], ""
    for cell in cells:
        last = cell or last
        filled.append(re.split("[ T]", last)[0] if is_instant else last)
    return filled


def _again(columns: Sequence[Sequence[str]]) -> int:
    """Return how many rows of these columns stand there more than once."""
    counts = Counter(zip(*columns, strict=True)).values()
    return sum(count for count in counts if count > 1)


def _asked(
    numbers: Sequence[str], active: dict[str, Placed], header: Header
) -> Said[tuple[str, ...]] | None:
    """Ask of numbers that count from 1 whether they do so in each file.

    Within the day, or the week of a weekly sheet, and the crew where the file is one
    crew's.
    """
    days = next((_days_of(active[n], header) for n in _DAYS if n in active), ())
    numbers = _without_foot(numbers)
    counted = [str(number) for number in range(1, len(numbers) + 1)]
    if not days or len(numbers) < _FEWEST_COUNTED or set(numbers) != set(counted):
        return None
    crew = active["crew_code"].header if "crew_code" in active else None
    crews = (crew,) if crew in header.said_once else ()
    return Said(
        (*days, *crews),
        "guess",
        "they count from 1: do they begin again in each file or sheet?",
    )


def _days_of(one: Placed, header: Header) -> tuple[str, ...]:
    """Return what tells the days of files or sheets apart, each with rows of its own.

    Of a sheet a week the week; the weekday as well where each sheet is one.
    """
    if one.week is None:
        return (one.header,)
    weekday = (one.header,) if one.header in header.said_once else ()
    return (one.week.header, *weekday)


def _without_foot(numbers: Sequence[str]) -> Sequence[str]:
    """Return numbers without what a sheet ends with instead: a signature, a total."""
    last = len(numbers)
    while (
        last > len(numbers) - _MOST_AT_FOOT and last and not numbers[last - 1].isdigit()
    ):
        last -= 1
    return numbers[:last]
