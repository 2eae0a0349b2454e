"""The day of a weekly sheet: its week stands once, and a weekday by each row."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from etl.draft.dates import is_date
from etl.draft.header import Header
from etl.draft.looks import Looks, looks_of
from etl.draft.match import week_way
from etl.draft.placed import Placed, WeekOf
from etl.draft.said import Said
from etl.draft.titles import with_told
from etl.month_names import weekday_named
from etl.staging import title_in
from etl.week_days import is_week
from queries.columns import COLUMN_BY_NAME

# What a draft calls the weekday that the name of a sheet says.
SHEET_DAY = "weekday"
_DAYS = ("installed_on", "installed_at")
_NEARLY_ALL = 0.9
_BEFORE_FIGURE = re.compile(r"\s+(?=\d)")


def with_week(
    header: Header,
    placed: Sequence[Placed],
    sheet: Said[str] | None,
    sheets: Sequence[str],
) -> tuple[Header, Placed | None, Said[str] | None]:
    """Return the header with the columns of a week and a weekday, and the day placed.

    None, and all as it was, where another column is the day or one of the two is not
    found. `sheets`: the names of a workbook's sheets, which may be the weekdays.
    """
    if any(one.column.name in _DAYS and one.said.is_active for one in placed):
        return header, None, sheet
    with_title, week = _week_of(header)
    weekday = _weekday_of(header, placed)
    if week is None:
        return header, None, sheet
    if weekday is None and sheet is not None and sheet.value == "*":
        if not all(weekday_named(name) is not None for name in sheets):
            return header, None, sheet
        reason = f"{sheet.reason}; its name is the weekday"
        sheet = Said(f"{{{SHEET_DAY}}}", "likely", reason)
        with_title = with_told(with_title, SHEET_DAY, sheets[0])
        weekday = SHEET_DAY
    if weekday is None:
        return header, None, sheet
    looks = looks_of(with_title.rows, with_title.names.index(weekday), ".")
    reason = "the day is that of the week with this name"
    column = COLUMN_BY_NAME["installed_on"]
    said: Said[str | None] = Said(None, "likely", reason)
    return with_title, Placed(column, weekday, looks, said, week=week), sheet


def with_day(placed: Sequence[Placed], of_week: Placed) -> list[Placed]:
    """Return the columns with the day of a weekly sheet, in place of any other day."""
    others = [one for one in placed if one.column.name not in _DAYS]
    order = list(COLUMN_BY_NAME)
    return sorted([*others, of_week], key=lambda one: order.index(one.column.name))


def _week_of(header: Header) -> tuple[Header, WeekOf | None]:
    """Return what names the week, with the header that has a column of it."""
    for place, name in enumerate(header.bare):
        way, looks = week_way(name), looks_of(header.rows, place, ".")
        if way and _are_weeks(looks):
            return header, WeekOf(way, header.names[place], tuple(looks.filled))
    for title in _titles(header):
        text = title_in(header.above, title, [title])
        if text and (is_date(text) or is_week(text)):
            with_title = with_told(header, title, text)
            titles = with_title.titles | {title: "installed_on"}
            name = with_title.names[-1]
            week = WeekOf(week_way(title) or "from", name, (text,))
            return replace(with_title, titles=titles), week
    return header, None


def _titles(header: Header) -> Iterator[str]:
    """Yield what above the names may name a week, with or without a colon behind."""
    for row in header.above:
        for cell in filter(None, row):
            before = cell.partition(":")[0]
            for text in (before, _BEFORE_FIGURE.split(before)[0]):
                title = " ".join(text.split())
                if week_way(title):
                    yield title


def _are_weeks(looks: Looks) -> bool:
    weeks = sum(is_date(cell) or is_week(cell) for cell in looks.filled)
    return weeks > 0 and weeks >= _NEARLY_ALL * len(looks.filled)


def _weekday_of(header: Header, placed: Sequence[Placed]) -> str | None:
    """Return the column whose cells are weekdays, of those that are nothing else."""
    taken = {one.header for one in placed if one.said.is_active}
    for place, name in enumerate(header.names):
        filled = looks_of(header.rows, place, ".").filled
        days = sum(weekday_named(cell) is not None for cell in filled)
        if name not in taken and filled and days >= _NEARLY_ALL * len(filled):
            return name
    return None
