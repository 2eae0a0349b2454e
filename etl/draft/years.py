"""Dates without a year: which it may be."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime

from etl.draft.header import Header
from etl.draft.looks import BLANK, Looks, looks_of
from etl.draft.match import match
from etl.draft.said import Said
from etl.site_map.years import with_year
from queries.columns import COLUMN_BY_NAME

_OFTEN = 0.9
_NAMED = 0.75
# Not that of a standard, EN 1992-4:2018.
_YEAR = re.compile(r"(?<![\d:])20\d\d(?!\d)")
_DATED = [
    column for column in COLUMN_BY_NAME.values() if column.kind in ("date", "instant")
]


def with_years(header: Header, decimal: str, names: Iterable[str]) -> Header:
    """Return the header with whole dates, where the log's have no year.

    Only under names of dates: `12.5` is a figure as well. The year is what the `names`
    of file and sheet say and what stands above the columns, if that is one.
    """
    said = _year_of([*names, *(cell for row in header.above for cell in row)])
    rows, is_found = header.rows, False
    for place in range(len(header.names)):
        looks = looks_of(rows, place, decimal)
        if not looks.filled or looks.date_share > 1 - _OFTEN:
            continue
        whole = [_with_year(row, place, said.value) for row in rows]
        if _is_named_date(header, place, looks_of(whole, place, decimal)):
            rows, is_found = whole, True
    return replace(header, rows=rows, year=said) if is_found else header


def _year_of(texts: Iterable[str]) -> Said[int]:
    years = {int(year) for text in texts for year in _YEAR.findall(text)}
    if len(years) == 1:
        reason = "dates have no year; the name, or what stands above, has this one"
        return Said(years.pop(), "likely", reason)
    return Said(datetime.now(UTC).year, "guess", "dates have no year: which is it?")


def _with_year(row: list[str], place: int, year: int) -> list[str]:
    if place >= len(row) or BLANK.fullmatch(row[place]):
        return row
    return [*row[:place], with_year(row[place], year), *row[place + 1 :]]


def _is_named_date(header: Header, place: int, whole: Looks) -> bool:
    return whole.date_share >= _OFTEN and any(
        match(name, whole, column, header.units[place]).name_fit >= _NAMED
        for name in header.spoken(place)
        for column in _DATED
    )
