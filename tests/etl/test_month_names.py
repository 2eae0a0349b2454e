"""Names of months and weekdays, against those of the Unicode CLDR (by way of babel)."""

from datetime import date, timedelta

import pytest
from babel import Locale

from etl.month_names import weekday_before
from etl.odd_dates import read_moment

LANGUAGES = ("en", "de", "fr", "es", "pt", "it", "nl", "pl", "cs", "sv", "da", "nb")
# "so" is Saturday in Czech and Sunday in German: it is read as German.
TWO_DAYS = {("cs", "so")}
# Of this week the other order of day and month falls on other weekdays.
MONDAY = date(2026, 6, 1)


def names(language: str, what: str) -> list[tuple[int, str]]:
    """Return the numbers and names of "months" or "days", whole and shortened."""
    by_use = getattr(Locale(language), what)
    return [
        (number, name)
        for use in ("format", "stand-alone")
        for width in ("wide", "abbreviated")
        for number, name in by_use[use][width].items()
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_months_are_read_by_their_names(language: str) -> None:
    for month, name in names(language, "months"):
        for cell in (f"14 {name} 2026", f"14. {name.upper()} 2026", f"14-{name}-26"):
            assert read_moment(cell, "unsaid", "UTC").day == date(2026, month, 14)


@pytest.mark.parametrize("language", LANGUAGES)
def test_weekdays_before_a_date_are_read(language: str) -> None:
    for weekday, name in names(language, "days"):
        if (language, name) in TWO_DAYS:
            continue
        assert weekday_before(f"{name} 4") == (weekday, "4")
        day = MONDAY + timedelta(weekday)
        assert read_moment(f"{name}, {day:%d.%m.%Y}", "unsaid", "UTC").day == day
