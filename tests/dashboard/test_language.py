"""Numbers and dates as the reader's language writes them: Unicode CLDR, from memory."""

import re
from datetime import UTC, date, datetime

import duckdb
import pytest
from flask import Flask

from dashboard import words
from dashboard.address import format_search, parse_view
from dashboard.figures.base import draw
from dashboard.language import HOUSE, LANGUAGES, accepted_language, language_of
from dashboard.pages import record
from dashboard.requested import requested_wish
from dashboard.units import in_reader_units
from dashboard.wish import asked_wish, wishing
from queries.readers.choices import Choices
from tests.dashboard.components import lead, tables, text, whole_page

Con = duckdb.DuckDBPyConnection
PIECE = re.compile(r"(?<![\w.,§])\d+\.\d+(?![\w.]|-\d)")


def test_numbers_and_dates_in_german() -> None:
    with wishing(asked_wish("?lang=de")):
        assert words.count(1234567) == "1.234.567"
        assert words.percent(0.0235) == "2,4\xa0%"
        assert words.interval(0.024, 0.072) == "2,4–7,2\xa0%"
        assert words.quantity(49.5, "Nm") == "49,5\xa0Nm"
        assert words.signed(-0.5, "mm") == "−0,5\xa0mm"
        assert words.day(date(2026, 3, 4)) == "04.03.2026"
        at = datetime(2026, 3, 4, 5, 6, tzinfo=UTC)
        assert words.instant(at) == "04.03.2026 05:06 UTC"
        said = in_reader_units("set to 49.99 Nm, 49.5 to 60.5 required", "Nm")
        assert said == "set to 49,99 Nm, 49,5 to 60,5 required"
        assert draw([], height=10).layout.separators == ",."
        assert format_search() == "?lang=de"
    assert words.percent(0.0235) == "2.4\xa0%"
    assert words.count(1234567) == "1\u202f234\u202f567"


@pytest.mark.parametrize(
    ("header", "tag"),
    [
        ("de-AT,de;q=0.9,en;q=0.8", "de"),
        ("en-US,en;q=0.9,de;q=0.8", "en"),
        ("xx,fr;q=0.4,it;q=0.6", "it"),
        ("de-CH", "de-ch"),
        ("de;q=0", "en"),
        ("", "en"),
        ("*;q=oops,;;=,", "en"),
    ],
)
def test_the_browser_s_language_is_taken(header: str, tag: str) -> None:
    assert accepted_language(header) == LANGUAGES[tag]
    headers = {"Accept-Language": header}
    with Flask("test").test_request_context(headers=headers):
        assert requested_wish("").language == LANGUAGES[tag]
        # What the address pins comes first.
        assert requested_wish("?lang=pl").language == LANGUAGES["pl"]


def test_an_unknown_language_is_said() -> None:
    wanted = asked_wish("?lang=klingon")
    assert (wanted.lang, wanted.language) == (None, HOUSE)
    assert "“klingon”" in wanted.problems[0]
    assert language_of("fr-CA") == LANGUAGES["fr"]


@pytest.mark.parametrize("path", ["/sites", "/crews", "/drilling"])
def test_no_number_of_a_page_is_left_with_a_point(
    con: Con, choices: Choices, path: str
) -> None:
    """One page with two decimal signs would be worse than the wrong one."""
    with wishing(asked_wish("?lang=fr")):
        made = whole_page(con, path, parse_view("", choices), choices)
        said = text(made)
    assert "," in lead(made)
    # Words of queries/ as they are: the formula of a norm.
    assert PIECE.findall(said.replace("to the power 1.5", "")) == []
    assert tables(made)


def test_a_record_in_french(con: Con, choices: Choices) -> None:
    [[site, number]] = con.execute(
        "select site_code, record_id from installation where crew_code = 'C1' limit 1"
    ).fetchall()
    with wishing(asked_wish("?lang=fr&units=inch")):
        view = parse_view(f"?site={site}&record={number}", choices)
        said = text(record.render(con, view, choices))
    assert "04/05/2026, crew C1" in said
    assert "36,5 to 44,6 required" in said
    assert PIECE.findall(said) == []
