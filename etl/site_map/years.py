"""Dates without a year, `04.05.` or `May 4`: the site map gives it.

Patterns are read by RE2 and by Python's re alike.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from etl.month_names import bare_text, months_named
from etl.site_map.faults import Faults, shown
from etl.site_map.tables import Table

FIRST_YEAR, LAST_YEAR = 1990, 2099
_LETTER = r"[^\s\d.,:;/()-]"
_WEEKDAY = rf"(?:{_LETTER}{{2,12}}\.?,?\s+)?"
_DAY = r"\d{1,2}(?:st|nd|rd|th|er|\.|º|°)?"
_TIME = r"((?:,?\s+[^\d.]{0,5}\d{1,2}\s?[:.h]\s?\d{2}.*)?)"
# Dates, and what becomes of them: the year where the sign stands.
_SIGN = "§"
_FORMS = (
    (
        rf"^({_WEEKDAY}\d{{1,2}})\s?([./-])\s?(\d{{1,2}})\s?[./-]?{_TIME}$",
        rf"\1\2\3\2{_SIGN}\4",
    ),
    (
        rf"^({_WEEKDAY}{_DAY}[ .-]?(?:de |of )?{_LETTER}{{3,12}})\.?{_TIME}$",
        rf"\1 {_SIGN}\2",
    ),
    (
        rf"^({_WEEKDAY}{_LETTER}{{3,12}}\.? \d{{1,2}}(?:st|nd|rd|th)?),?{_TIME}$",
        rf"\1, {_SIGN}\2",
    ),
)


@dataclass(frozen=True)
class YearFrom:
    """The twelve months of dates without a year: those before the first, a year later.

    `first_month` 11 of `year` 2025: from November 2025 to October 2026.
    """

    year: int
    first_month: int = 1

    @property
    def later_months(self) -> range:
        """The months that are of the year after."""
        return range(1, self.first_month)


def with_year(cell: str, year: YearFrom, *, day_first: bool = True) -> str:
    """Return a date without a year with it; any other cell as it is.

    `day_first`: of two figures the first is the day.
    """
    later = year.later_months
    is_later = bool(later) and is_in_months(cell, later, day_first=day_first)
    for pattern, whole in _FORMS:
        found = re.fullmatch(pattern, cell.strip())
        if found:
            return found.expand(whole).replace(_SIGN, str(year.year + is_later))
    return cell


def is_in_months(cell: str, months: Iterable[int], *, day_first: bool = True) -> bool:
    """Say whether a cell is a date without a year in one of these months."""
    pattern = _pattern_of(tuple(months), day_first=day_first)
    return re.fullmatch(pattern, bare_text(cell.strip())) is not None


def with_year_sql(cell: str, year: YearFrom | None, *, day_first: bool = True) -> str:
    """Return the SQL of `with_year`; of no year, the cell."""
    if year is None:
        return cell
    whole = _with_one_year_sql(f"trim({cell})", year.year)
    if not year.later_months:
        return whole
    pattern = _quoted(_pattern_of(tuple(year.later_months), day_first=day_first))
    return (
        f"if(regexp_full_match(lower(strip_accents(trim({cell}))), {pattern}), "
        f"{_with_one_year_sql(f'trim({cell})', year.year + 1)}, {whole})"
    )


def _with_one_year_sql(cell: str, year: int) -> str:
    for pattern, whole in _FORMS:
        put = _quoted(whole.replace(_SIGN, str(year)))
        cell = f"regexp_replace({cell}, {_quoted(pattern)}, {put})"
    return cell


@cache
def _pattern_of(months: tuple[int, ...], *, day_first: bool) -> str:
    """Return what matches dates in these months, without capitals and accents."""
    figures = "|".join(f"0?{month}" for month in months) or _NOTHING
    names = "|".join(months_named(months)) or _NOTHING
    two = (r"\d{1,2}", f"(?:{figures})")
    first, second = two if day_first else reversed(two)
    forms = (
        rf"{first}\s?[./-]\s?{second}\s?[./-]?",
        rf"(?:{_DAY}|\d{{1,2}}[oa])[ .-]?(?:de |of )?(?:{names})\.?",
        rf"(?:{names})\.? \d{{1,2}}(?:st|nd|rd|th)?,?",
    )
    return f"{_WEEKDAY}(?:{'|'.join(forms)}){_TIME}"


# What no text is.
_NOTHING = r"[^\s\S]"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def read_year(dates: Table, faults: Faults) -> YearFrom | None:
    """Return the year of dates that have none; None where the map gives no year."""
    year, first = dates.values.get("year"), dates.values.get("first_month", 1)
    is_year = type(year) is int and FIRST_YEAR <= year <= LAST_YEAR
    is_month = type(first) is int and 1 <= first <= 12
    if "year" in dates.values and not is_year:
        faults.add(
            ("dates", "year"),
            f"[dates] year = {shown(year)}: expected the year of dates that have none, "
            f"as 2026 ({FIRST_YEAR} to {LAST_YEAR})",
        )
    if not is_month:
        faults.add(
            ("dates", "first_month"),
            f"[dates] first_month = {shown(first)}: expected a month from 1 to 12, the "
            "first of that year; those before it are of the next",
        )
    elif "first_month" in dates.values and "year" not in dates.values:
        faults.add(
            ("dates", "first_month"),
            f"[dates] first_month = {first} without year: expected both, or neither",
        )
    if isinstance(year, int) and isinstance(first, int) and is_year and is_month:
        return YearFrom(year, first)
    return None
