"""Dates without a year, `04.05.` or `May 4`: the site map gives it.

Patterns are read by RE2 and by Python's re alike.
"""

import re

from etl.site_map.faults import Faults, shown
from etl.site_map.tables import Table

FIRST_YEAR, LAST_YEAR = 1990, 2099
_LETTER = r"[^\s\d.,:;/()-]"
_WEEKDAY = rf"(?:{_LETTER}{{2,10}}\.?,?\s+)?"
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
        rf"^({_WEEKDAY}{_DAY}[ .-]?(?:de |of )?{_LETTER}{{3,10}})\.?{_TIME}$",
        rf"\1 {_SIGN}\2",
    ),
    (
        rf"^({_WEEKDAY}{_LETTER}{{3,10}}\.? \d{{1,2}}(?:st|nd|rd|th)?),?{_TIME}$",
        rf"\1, {_SIGN}\2",
    ),
)


def with_year(cell: str, year: int) -> str:
    """Return a date without a year with it; any other cell as it is."""
    for pattern, whole in _FORMS:
        found = re.fullmatch(pattern, cell.strip())
        if found:
            return found.expand(whole).replace(_SIGN, str(year))
    return cell


def with_year_sql(cell: str, year: int | None) -> str:
    """Return the SQL of `with_year`; of no year, the cell."""
    if year is None:
        return cell
    cell = f"trim({cell})"
    for pattern, whole in _FORMS:
        text = pattern.replace("'", "''")
        cell = f"regexp_replace({cell}, '{text}', '{whole.replace(_SIGN, str(year))}')"
    return cell


def read_year(dates: Table, faults: Faults) -> int | None:
    """Return the year of dates that have none; None where the map gives no year."""
    year = dates.values.get("year")
    if year is None:
        return None
    if isinstance(year, int) and FIRST_YEAR <= year <= LAST_YEAR:
        return year
    faults.add(
        ("dates", "year"),
        f"[dates] year = {shown(year)}: expected the year of dates that have none, "
        f"as 2026 ({FIRST_YEAR} to {LAST_YEAR})",
    )
    return None
