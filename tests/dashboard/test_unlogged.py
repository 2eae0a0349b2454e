"""Planned holes without an anchor logged: on the page, in a file, in the terminal."""

import csv
import io
import json
from pathlib import Path

import pytest

from dashboard.app import create_app
from dashboard.command import main
from dashboard.later import render_part
from dashboard.pages import LATER
from dashboard.sheets.read import read_sheet
from dashboard.unlogged_words import CAUTION, NONE
from queries.readers.choices import read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv
from tests.dashboard.components import text, whole_answer

SETTINGS: list[Row] = [{}, {"setting_code": "M16-84", "anchor_size": "M16"}]
# Planned in May of M12, then of M16; logged of M12 in May.
PLANNED = {"EAST": (20, 3), "MID": (10, 0), "WEST": (30, 6)}
LOGGED = {"EAST": 14, "MID": 10, "WEST": 31}


def plan(site: str, setting: str, holes: int, last: str = "2026-05-31") -> Row:
    return {
        "site_code": site,
        "setting_code": setting,
        "planned_from_on": "2026-05-01",
        "planned_to_on": last,
        "hole_count": str(holes),
    }


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """EAST: 14 of 20 M12 and none of 3 M16; MID: all; WEST: 31 of 30 and none of 6."""
    sites: dict[str, list[Row]] = {
        site: [
            *({"record_id": f"{site}{number}"} for number in range(logged)),
            {"record_id": "late", "installed_on": "2026-06-01", "outcome": "abandoned"},
            # Long before the plans: it counts for none.
            {
                "record_id": "early",
                "installed_on": "2026-04-01",
                "setting_code": "M16-84",
            },
        ]
        for site, logged in LOGGED.items()
    }
    store = build_store(tmp_path, settings=SETTINGS, sites=sites)
    plans = [
        plan(site, setting, holes)
        for site, planned in PLANNED.items()
        for setting, holes in zip(("M12-68", "M16-84"), planned, strict=True)
        if holes
    ]
    plans.append(plan("MID", "M16-84", 8, last="2026-07-31"))
    plans.append(plan("MID", "M99", 2))
    load(store, write_csv(tmp_path / "planned_holes.csv", plans))
    return store


# By hand: 20 + 3 + 10 + 30 + 6 are due; 6 + 3 of EAST's and 6 of WEST's are missing.
SAID = (
    "Of 69 holes planned for days that the log has passed, 15 (21.7 %) have no anchor "
    "logged. Whatever was set there is in no rate here. Most are Invented site EAST's: "
    "39.1 % (9/23). At the same sites 1 anchor of other setting data is logged beyond "
    "the plan. 8 more planned holes are not compared: the log has not passed the last "
    "of their days. 2 more planned holes are of setting data that are not loaded. "
    f"{CAUTION}"
)
ON_TOP = (
    "Invented site EAST: of 23 holes planned for days that the log has passed, 9 "
    "(39.1 %) have no anchor logged. Whatever was set there is in no rate here. 1 more "
    "site likewise. Planned holes without an anchor logged"
)


def plain(words: str) -> str:
    """Return words with ordinary blanks."""
    return " ".join(words.split())


def test_the_page_says_what_the_terminal_says(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    page = plain(text(whole_answer(store, "/sites", "")))
    assert SAID in page
    assert ON_TOP in page
    folder = str(store.folder)
    assert main(["unlogged", "--store", folder]) == 0
    printed = plain(capsys.readouterr().out)
    assert SAID in printed
    assert "EAST 23 14 9 0 0 0 39.13 %" in printed
    assert main(["unlogged", "--store", folder, "--settings", "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [one["unlogged"] for one in found] == [6, 3, 0, 0, 0, 0, 6]


def test_a_check_and_a_crew_choose_nothing_and_it_is_said(store: Store) -> None:
    page = plain(text(whole_answer(store, "/sites", "?check=tilt&crews=CREW-1")))
    assert f"{SAID} Of all crews: who sets a planned anchor may change." in page
    assert ON_TOP in page


def test_the_file_holds_a_line_a_site_and_setting_data(store: Store) -> None:
    client = create_app(store).server.test_client()
    answer = client.get("/csv/unlogged?sites=WEST")
    rows = csv.DictReader(io.StringIO(answer.get_data(as_text=True)))
    assert [
        (row["setting_code"], row["planned"], row["logged"], row["beyond"])
        for row in rows
    ] == [("M12-68", "30", "31", "1"), ("M16-84", "6", "0", "0")]


def test_the_sheet_of_a_site_says_it_where_it_is_much(store: Store) -> None:
    with store.reader() as con:
        choices = read_choices(con)
        said = {
            site: {
                part.heading: plain(" ".join(part.sentences))
                for part in read_sheet(
                    con, "site", site, Selection(), choices
                ).parts_after
            }
            for site in PLANNED
        }
    heading = "Planned, and not logged"
    assert said["WEST"][heading] == (
        "Invented site WEST: of 36 holes planned for days that the log has passed, 6 "
        "(16.7 %) have no anchor logged. Whatever was set there is in no rate here. "
        f"{CAUTION}"
    )
    assert heading in said["EAST"]
    assert heading not in said["MID"]


@pytest.mark.parametrize(
    ("search", "said"),
    [
        (
            "?sites=MID",
            "10 holes planned for days that the log has passed, none is without an",
        ),
        (
            "?sites=MID&sizes=M16",
            "logged 8 planned holes are not compared: the log has not passed the last",
        ),
        (
            "?sites=MID&from=2026-05-02",
            "the log has not passed the last of their days, or only some of them are",
        ),
        ("?sites=MID&from=2026-08-01", NONE),
        (
            "?sites=WEST&sizes=M12",
            "none is without an anchor logged. 1 anchor is logged beyond the plan.",
        ),
    ],
)
def test_what_is_said_where_nothing_is_missing(
    store: Store, search: str, said: str
) -> None:
    shown = plain(text(render_part(store, LATER, "site plans", search)))
    assert said in shown
    assert CAUTION not in shown
