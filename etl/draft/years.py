"""Dates without a year: which it may be."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime

from etl.draft.bare import OFTEN, is_named, read_cells
from etl.draft.header import Header
from etl.draft.looks import looks_of
from etl.draft.said import Said
from etl.site_map.years import with_year

_DATED = ("date", "instant")
# Not that of a standard, EN 1992-4:2018.
_YEAR = re.compile(r"(?<![\d:])20\d\d(?!\d)")


def with_years(header: Header, decimal: str, names: Iterable[str]) -> Header:
    """Return the header with whole dates, where the log's have no year.

    Only under names of dates: `12.5` is a figure as well. The year is what the `names`
    of file and sheet say and what stands above the columns, if that is one.
    """
    said = _year_of([*names, *(cell for row in header.above for cell in row)])
    rows, is_found = header.rows, False
    for place in range(len(header.names)):
        looks = looks_of(rows, place, decimal)
        if not looks.filled or looks.date_share > 1 - OFTEN:
            continue
        whole = read_cells(rows, place, lambda cell: with_year(cell, said.value))
        if is_named(header, place, looks_of(whole, place, decimal), _DATED):
            rows, is_found = whole, True
    return replace(header, rows=rows, year=said) if is_found else header


def _year_of(texts: Iterable[str]) -> Said[int]:
    years = {int(year) for text in texts for year in _YEAR.findall(text)}
    if len(years) == 1:
        reason = "dates have no year; the name, or what stands above, has this one"
        return Said(years.pop(), "likely", reason)
    return Said(datetime.now(UTC).year, "guess", "dates have no year: which is it?")
