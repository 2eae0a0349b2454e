"""Beside each flag of a site: the crew with the most of it, and the last months.

Every count is that of the rows written here.
"""

from collections.abc import Iterator

import duckdb
import pytest

from dashboard.address import parse_view
from dashboard.later import render_part
from dashboard.pages import LATER
from dashboard.sheets.read import read_sheet
from queries.readers.choices import read_choices
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import rows, table

Con = duckdb.DuckDBPyConnection

DAYS = [f"2026-{month:02}-{day:02}" for month in (4, 5) for day in (4, 5, 6, 7, 8)]


def _anchors(bad: dict[str, int], each: int = 50) -> list[Row]:
    """Anchors of each crew in turn over ten days, the last so many brushed too little.

    Of crew C2 nothing is said in April, of C4 never.
    """

    def brushed(crew: str, at: int, number: int) -> str:
        if crew == "C4" or (crew == "C2" and at % 10 < 5):
            return ""
        return "0" if at >= each - number else "4"

    return [
        {
            "installed_on": DAYS[at % 10],
            "crew_code": crew,
            "brush_count": brushed(crew, at, number),
        }
        for crew, number in bad.items()
        for at in range(each)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Hole cleaning at A: all 30 of C1; of C2, half judged, 10 of 25. B to D: none."""
    return build_store(
        tmp_path_factory.mktemp("who"),
        settings=[{}],
        sites={
            "A": _anchors({"C1": 30, "C2": 20, "C3": 0, "C4": 0}),
            **{site: _anchors({f"{site}1": 1}, 100) for site in "BCD"},
        },
    )


@pytest.fixture
def con(store: Store) -> Iterator[Con]:
    """A cursor on its edition."""
    with store.reader() as cursor:
        yield cursor


def test_the_page_names_the_crew_with_most_and_the_last_month(store: Store) -> None:
    """C1 has 30 of 40 and 50 of 125 judged; in May 15 of C1's and 10 of C2's."""
    shown = render_part(store, LATER, "standing out", "")
    cells = table(shown, "What stands out")
    [row] = [one for one in rows(cells) if "Hole cleaning" in one]
    assert row[7:9] == [
        "C1: 75.0\xa0% of these, with 40.0\xa0% of the judged",
        "33.3\xa0% 2026-05: 25/75",
    ]


def test_the_sheet_says_every_crew_and_the_last_months(con: Con) -> None:
    choices = read_choices(con)
    sheet = read_sheet(con, "site", "A", parse_view("", choices).selection, choices)
    [raised] = [one for one in sheet.parts_before if one.heading == "What to raise"]
    assert (
        "By crew: C1 60.0\xa0% (30/50), C2 40.0\xa0% (10/25) and C3 0.0\xa0% "
        "(0/50). Lately: 2026-04 30.0\xa0% (15/50) and 2026-05 33.3\xa0% (25/75)."
    ) in raised.sentences[0]
