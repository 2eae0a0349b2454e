"""The readings that a load's SQL calls for the cells its plain ones leave.

They are functions in Python because they are rare, and exact: a load of a million plain
cells never calls them. Each remembers the cells it has read.
"""

from collections.abc import Callable
from datetime import date, datetime, time
from functools import lru_cache
from pathlib import Path

import duckdb
from duckdb.func import SPECIAL

from etl.odd_dates import DateOrder, clock_change, read_moment, read_time
from etl.odd_numbers import read_quantity
from etl.spelling import code_key
from etl.week_days import Way, read_week_day

_Result = float | str | bool | date | datetime | time | None

CELLS_SQL = (Path(__file__).parent / "cells.sql").read_text("utf-8")


def prepare_readings(con: duckdb.DuckDBPyConnection) -> None:
    """Give a connection the macros of cells.sql and the functions below."""
    con.execute(CELLS_SQL)
    functions: tuple[tuple[Callable[..., _Result], int, str], ...] = (
        (odd_number, 3, "double"),
        (number_words, 3, "varchar"),
        (odd_day, 3, "date"),
        (odd_instant, 3, "timestamp"),
        (odd_lacks_time, 3, "boolean"),
        (date_words, 3, "varchar"),
        (instant_words, 3, "varchar"),
        (odd_time, 1, "time"),
        (week_day, 5, "date"),
    )
    for function, arguments, result in functions:
        con.create_function(
            function.__name__,
            function,
            ["varchar"] * arguments,
            result,
            null_handling=SPECIAL,
        )
    con.create_function(
        "clock_words",
        clock_words,
        ["timestamp", "varchar"],
        "varchar",
        null_handling=SPECIAL,
    )
    con.create_function(
        "code_key", lru_cache(maxsize=65_536)(code_key), ["varchar"], "varchar"
    )


def odd_number(cell: str, decimal: str, unit: str | None) -> float | None:
    """Return a quantity in our unit, or None where the cell is none."""
    return read_quantity(cell, decimal, unit).value


def number_words(cell: str, decimal: str, unit: str | None) -> str:
    """Return what was found instead of a number, with a semicolon, or nothing."""
    return _before_expected(read_quantity(cell, decimal, unit).found)


def odd_day(cell: str, order: DateOrder, time_zone: str) -> date | None:
    """Return the site's own date."""
    return read_moment(cell, order, time_zone).day


def odd_instant(cell: str, order: DateOrder, time_zone: str) -> datetime | None:
    """Return the instant in UTC, without a zone."""
    return read_moment(cell, order, time_zone).instant


def odd_lacks_time(cell: str, order: DateOrder, time_zone: str) -> bool:
    """Say whether a cell is a date without a time of day."""
    moment = read_moment(cell, order, time_zone)
    return moment.day is not None and not moment.has_time


def date_words(cell: str | None, order: DateOrder, time_zone: str) -> str:
    """Return what was found instead of a date, with a semicolon, or nothing."""
    if cell is None:
        return ""
    return _before_expected(read_moment(cell, order, time_zone).found)


def instant_words(cell: str, order: DateOrder, time_zone: str) -> str:
    """Return what was found instead of an instant, with a semicolon, or nothing."""
    if odd_lacks_time(cell, order, time_zone):
        return _before_expected("found a date without a time of day")
    return date_words(cell, order, time_zone)


def odd_time(cell: str) -> time | None:
    """Return a time of day that stands alone."""
    return read_time(cell)


def week_day(
    week: str | None, weekday: str | None, way: Way, order: DateOrder, time_zone: str
) -> date | None:
    """Return the day that a week and a weekday say together."""
    return read_week_day(week, weekday, way, order, time_zone)


def clock_words(local: datetime | None, time_zone: str) -> str:
    """Return how a clock change leaves a time open, with a semicolon, or nothing."""
    return "" if local is None else _before_expected(clock_change(local, time_zone))


def _before_expected(found: str) -> str:
    return f"{found}; " if found else ""
