"""When each site last sent, and who may send files. Days are counted by hand."""

import argparse
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from dashboard.command import _parser
from dashboard.pages.last_sent import last_sent
from dashboard.terminal.serving import writing_of
from queries.store import Store
from tests.builders import build_store, load, write_csv, write_log, write_setting_data
from tests.dashboard.components import rows, table, tables, text

SENDINGS = {"WEEKLY": (1, 8, 15), "ONCE": (15,)}
PLANNED = {
    "site_code": "GHOST",
    "setting_code": "M12-68",
    "planned_from_on": "2026-06-01",
    "planned_to_on": "2026-07-31",
    "hole_count": 10,
}


def test_a_store_without_sites_says_so(tmp_path: Path) -> None:
    with build_store(tmp_path).reader() as con:
        shown = last_sent(con, date(2026, 6, 15))
    assert "No site has sent a log" in text(shown)
    assert tables(shown) == []


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Two sites that sent on these days of June 2026, and one only planned."""
    folder: Path = tmp_path_factory.mktemp("sent")
    logs = folder / "logs"
    logs.mkdir()
    store = Store(folder / "store")
    write_setting_data(logs)
    write_csv(logs / "planned_holes.csv", [PLANNED])
    for day in (1, 8, 15):
        paths = [
            # One of each file has no crew, and is rejected.
            write_log(
                folder / str(day),
                [{"record_id": f"R{day}"}, {"record_id": f"X{day}", "crew_code": ""}],
                site=site,
            )
            for site, days in SENDINGS.items()
            if day in days
        ]
        sheets = [logs] if day == 1 else []
        load(store, *sheets, *paths, now=datetime(2026, 6, day, 12, tzinfo=UTC))
    return store


def cells(store: Store, today: date) -> dict[str, list[str]]:
    with store.reader() as con:
        found = table(last_sent(con, today), "Last sending by site")
    return {
        row[0]: [cell.replace("\xa0", " ") for cell in row[1:]] for row in rows(found)
    }


def test_silence_is_told_against_the_site_s_own_gap(store: Store) -> None:
    by_site = cells(store, date(2026, 7, 6))
    # The longest silent for its own habits, and who never sent, come first.
    assert list(by_site)[:2] == ["GHOST", "Invented site WEEKLY"]
    assert by_site["Invented site WEEKLY"][:2] == [
        "2026-06-15",
        "21 days ago, 3.0 times its usual gap of 7 days",
    ]
    assert by_site["Invented site ONCE"][1] == ("21 days ago; sent once")
    assert by_site["GHOST"][:2] == [
        "never",
        "has sent nothing; known from a sheet of crews or planned holes",
    ]


def test_what_each_site_sent_adds_up(store: Store) -> None:
    by_site = cells(store, date(2026, 6, 15))
    # Files, rows read, loaded, revised, duplicate, rejected, still open.
    weekly = by_site["Invented site WEEKLY"]
    assert weekly[3:] == ["3", "6", "3", "0", "0", "3", "3"]
    assert by_site["Invented site ONCE"][1].startswith("today;")
    assert by_site["GHOST"][3:] == ["", "", "", "", "", "", "0"]


def test_the_silent_are_named_in_a_sentence(store: Store) -> None:
    with store.reader() as con:
        late = text(last_sent(con, date(2026, 7, 6)))
        soon = text(last_sent(con, date(2026, 6, 29)))
    assert "Silent for long: Invented site WEEKLY." in late
    assert "Nothing sent yet: GHOST." in late
    # Fourteen days are twice seven, not over it.
    assert "Silent for long" not in soon
    said = cells(store, date(2026, 6, 29))["Invented site WEEKLY"][1]
    assert said == "14 days ago; usually every 7 days"


def options(*given: str) -> argparse.Namespace:
    return _parser().parse_args(["serve", *given])


@pytest.mark.parametrize(
    ("given", "off_because"),
    [
        ([], ""),
        (["--host", "localhost"], ""),
        (["--host", "::1"], ""),
        (["--read-only"], "it was started with --read-only"),
        (["--host", "0.0.0.0"], "others reach it (--host 0.0.0.0), and"),
        (["--host", "logs.example"], "others reach it (--host logs.example), and"),
        (["--host", "0.0.0.0", "--allow-uploads"], ""),
    ],
)
def test_strangers_may_not_send_unless_it_is_asked_for(
    given: list[str], off_because: str
) -> None:
    found = writing_of(options(*given)).off_because
    assert found.startswith(off_because)
    assert bool(found) == bool(off_because)


def test_names_of_the_server_are_taken_from_the_option() -> None:
    given = options("--host", "0.0.0.0", "--allow-uploads", "logs.example")
    assert writing_of(given).names == ("logs.example",)
