"""Dates without a year: which it may be."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from itertools import pairwise

from etl.draft.bare import OFTEN, is_named, read_cells
from etl.draft.header import Header
from etl.draft.looks import looks_of
from etl.draft.said import Said
from etl.site_map.years import YearFrom, is_in_months, with_year

_DATED = ("date", "instant")
# Not that of a standard, EN 1992-4:2018.
_YEAR = re.compile(r"(?<![\d:])20\d\d(?!\d)")
_AT_END = re.compile(r"(?<=[./\s-])20\d\d$")


def with_years(header: Header, decimal: str, names: Iterable[str]) -> Header:
    """Return the header with whole dates, where the log's have no year.

    Only under names of dates: `12.5` is a figure as well. The year is what the `names`
    of file and sheet say and what stands above the columns, if that is one, or that of
    the dates that have one; of a log that runs over New Year, the first of two.
    """
    texts = [*names, *(cell for row in header.above for cell in row)]
    rows, found = header.rows, None
    for place in range(len(header.names)):
        looks = looks_of(rows, place, decimal)
        if not looks.filled or looks.date_share >= OFTEN:
            continue
        # A list may have the year in its first date only.
        whole_ones = looks.filled if looks.date_share > 1 - OFTEN else ()
        bare = [_AT_END.sub("", cell) for cell in looks.filled]
        said, is_day_first = _year_of([*texts, *whole_ones], bare)
        whole = read_cells(
            rows,
            place,
            partial(with_year, year=said.value, day_first=is_day_first),
        )
        dated = looks_of(whole, place, decimal)
        if dated.date_share >= OFTEN and is_named(header, place, dated, _DATED):
            rows, found = whole, said
    return replace(header, rows=rows, year=found) if found else header


def _year_of(texts: Iterable[str], cells: Sequence[str]) -> tuple[Said[YearFrom], bool]:
    """Return the year that dates may be of, and whether the day is first in them."""
    years = {int(year) for text in texts for year in _YEAR.findall(text)}
    for day_first in (True, False):
        if first_month := _month_before_new_year(cells, day_first=day_first):
            begun = min(years, default=datetime.now(UTC).year - 1)
            value = YearFrom(begun, first_month)
            if years == {begun, begun + 1}:
                reason = "dates have no year and run over New Year; both are named"
                return Said(value, "likely", reason), day_first
            reason = "dates have no year and run over New Year: when does it begin?"
            return Said(value, "guess", reason), day_first
    if len(years) == 1:
        reason = "dates have no year; the name, what stands above or others have this"
        return Said(YearFrom(years.pop()), "likely", reason), True
    now = YearFrom(datetime.now(UTC).year)
    return Said(now, "guess", "dates have no year: which is it?"), True


def _month_before_new_year(cells: Sequence[str], *, day_first: bool) -> int:
    """Return the month of the first date, where a late one is followed by an early."""

    def is_in(cell: str, *months: int) -> bool:
        return is_in_months(cell, months, day_first=day_first)

    if not any(is_in(a, 11, 12) and is_in(b, 1, 2) for a, b in pairwise(cells)):
        return 0
    return next((month for month in range(1, 13) if is_in(cells[0], month)), 0)
