"""Parts that are weighed after the page, through what a reader gets."""

import csv
import io
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from dash import html

from dashboard.address import format_search, parse_view
from dashboard.app import create_app, route
from dashboard.later import render_part
from dashboard.pages import LATER
from queries.readers.choices import read_choices
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv
from tests.dashboard.components import graphs, hrefs, rows, table, text, walk

MONDAY = date(2026, 1, 19)


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Crew A falls from 12 to 1 of 20 a week on its training; B has 8, others 1."""
    folder: Path = tmp_path_factory.mktemp("later")
    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(weeks=week, days=number % 5),
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for week in range(-12, 12)
        for crew, bad in (
            ("A", 12 if week < 0 else 1),
            ("B", 8),
            *((other, 1) for other in "CDEF"),
        )
        for number in range(20)
    ]
    store = build_store(folder, rows)
    register = [{"crew_code": "A", "topic": "setting_torque", "trained_on": MONDAY}]
    assert not load(store, write_csv(folder / "trainings.csv", register)).failures
    return store


def said(store: Store, part: str, search: str = "") -> str:
    return text(render_part(store, LATER, part, search)).replace("\xa0", " ")


def test_each_page_asks_for_its_parts(taught: Store) -> None:
    asked = {}
    made = {
        path: route(taught, path, "")[0]
        for path in ("/sites", "/crews", "/drilling", "/records")
    } | {part: render_part(taught, LATER, part, "") for part in LATER}
    for name, content in made.items():
        asked[name] = [
            part.id["part"]
            for part in walk(content)
            if isinstance(getattr(part, "id", None), dict)
            and part.id["type"] == "later"
        ]
    assert asked["/sites"] == [
        "too good",
        "standing out",
        "site changes",
        "site revisions",
        "site plans",
        "lowest ratios",
        "site mix",
        "site calibration",
    ]
    assert asked["/crews"] == [
        "retrain first",
        "near zero",
        "retraining",
        "trainings",
        "crew grid",
        "crew trends",
        "size trends",
        "crew changes",
        "crew revisions",
        "crew mix",
        "crew calibration",
        "crossed crews",
        "doubts",
    ]
    assert asked["/drilling"] == ["time per hole", "drilling depths"]
    # What a part asks for itself no callback would fill: it is one and the same.
    assert all(not asked[part] for part in LATER)
    assert asked["/records"] == ["records by ratio"]
    assert {part for parts in asked.values() for part in parts} == set(LATER)


def test_another_view_asks_anew(taught: Store) -> None:
    def places(search: str) -> set[str]:
        return {
            part.id["view"]
            for part in walk(route(taught, "/crews", search)[0])
            if isinstance(getattr(part, "id", None), dict) and "view" in part.id
        }

    assert places("") != places("?budget=3")
    assert len(places("") | places("?crews=A")) == 2


def test_calibration_beside_the_flags(taught: Store) -> None:
    # B is flagged, and A with its 156 of 480.
    words = said(taught, "crew calibration")
    assert (
        "With no real differences between crews this page would have flagged" in words
    )
    assert "of 1000 deals of the same days" in words.replace("\u202f", "")
    assert "it flagged 2." in words
    # A filter chooses which crews are shown; the promise is that of all of them.
    assert said(taught, "crew calibration", "?crews=C") == words
    assert said(taught, "crew calibration", "?from=2030-01-01") == ""
    # Of sites there is one: no flag could be raised, by chance or otherwise.
    assert said(taught, "site calibration") == ""


def test_the_list_within_its_budget(taught: Store) -> None:
    page = render_part(taught, LATER, "retraining", "?budget=3&check=hole_cleaning")
    found = rows(table(page, "Whom to retrain on what, first"))
    assert len(found) <= 3
    assert found[0][:3] == ["B", "Setting torque", "192/480"]
    assert "The list keeps to a budget of 3." in text(page)
    assert any(href.startswith("/csv/retraining?budget=3") for href in hrefs(page))
    # The other lengths keep the filters.
    assert "/crews?check=hole_cleaning" in hrefs(page)
    assert "/crews?check=hole_cleaning&budget=12" in hrefs(page)


def test_the_page_begins_with_whom_to_retrain(taught: Store) -> None:
    page = route(taught, "/crews", "")[0]
    parts = [part.id for part in walk(page) if getattr(part, "className", "") == "at"]
    assert parts[:4] == ["retraining", "trainings", "grid", "crew-trends"]
    [nav] = [
        part for part in walk(page) if getattr(part, "className", "") == "contents"
    ]
    assert hrefs(nav) == [f"#{name}" for name in parts]


# The list is over all checks: who has chosen one is told of that one.
def test_the_first_line_is_whom_to_retrain(taught: Store, bits: Store) -> None:
    def lead(store: Store, search: str) -> html.Div:
        page = route(store, "/crews", search)[0]
        [found] = [part for part in walk(page) if _is_lead(part)]
        return found

    first = lead(taught, "").children[0]
    assert first.id["part"] == "retrain first"
    chosen = lead(taught, "?check=setting_torque").children[0]
    assert text(chosen).startswith("Setting torque: ")
    nothing = lead(taught, "?from=2030-01-01").children[0]
    assert text(nothing).startswith("Nothing to judge")
    # B has 8 of 20 a week to the others' one; A has been like them since its training.
    entries = rows(
        table(
            render_part(taught, LATER, "retraining", ""),
            "Whom to retrain on what, first",
        )
    )
    assert [row[0] for row in entries[:2]] == ["B", "A"]
    spared = float(entries[0][7].split()[0])
    words = said(taught, "retrain first")
    assert words.startswith(
        "Retrain crew B (Invented site SITE-1) on setting torque first:"
    )
    assert f"would spare about {spared:.0f} (" in words
    assert (
        f") nonconforming anchors in its next {entries[0][6]} checks.\nThen A on "
        "setting torque (about " in words
    )
    assert "No crew stands out" in said(bits, "retrain first", "?crews=B")


def _is_lead(part: object) -> bool:
    return getattr(part, "className", "") == "lead"


# A fell on its training, within the 24 weeks of the store: it is listed, and said.
def test_the_first_and_who_was_trained_since(taught: Store) -> None:
    assert "Retrain crew B on setting torque first. Trained since: crew A" in said(
        taught, "retraining"
    )
    trained = "crew A on setting torque on 2026-01-19; see below what came of it."
    assert trained in said(taught, "retraining")
    # Evidence from after the day: nobody was trained since.
    assert "Trained since" not in said(taught, "retraining", "?from=2026-01-20")


@pytest.fixture(scope="module")
def bits(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Crew A has 30 of 40 bits undersize, B 4, which may be chance, the others 1."""
    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(days=number % 5),
            "bit_diameter_mm": "12" if number < bad else "12.3",
        }
        for crew, bad in (("A", 30), ("B", 4), *((other, 1) for other in "CDEF"))
        for number in range(40)
    ]
    return build_store(tmp_path_factory.mktemp("bits"), rows)


def test_what_is_not_clear_of_chance_is_folded(bits: Store) -> None:
    page = render_part(bits, LATER, "retraining", "?crews=B")
    assert "Nothing here is clear of chance" in text(page)
    assert not [part for part in walk(page) if isinstance(part, html.Ol)]
    kept = rows(table(page, "Whom to retrain on what, first"))
    assert [row[0] for row in kept] == ["B"]
    both = render_part(bits, LATER, "retraining", "")
    [listed] = [part for part in walk(both) if isinstance(part, html.Ol)]
    assert text(listed).startswith("Crew A (")
    assert "Look to the tool first: a sound bit may be all it takes." in text(listed)
    assert "Crew B" not in text(listed)
    found = rows(table(both, "Whom to retrain on what, first"))
    assert {"A", "B"} <= {row[0] for row in found}


# A check that is folded otherwise stands in the grid where the list names it.
def test_the_grid_shows_the_checks_of_the_list(bits: Store) -> None:
    page = render_part(bits, LATER, "crew grid", "")
    heads = table(page, "Crews by check")["heads"]
    assert heads.count("Drill bit") == 1
    assert heads[:2] == ["Crew", "Any check"]
    assert "Drill bit" not in table(page, "Crews by the other checks")["heads"]
    assert "the other 9 checks" in text(page)
    few = render_part(bits, LATER, "crew grid", "?crews=B")
    assert "Drill bit" in table(few, "Crews by the other checks")["heads"]
    assert "the other 10 checks" in text(few)


def test_trainings_with_their_effects(taught: Store) -> None:
    page = render_part(taught, LATER, "trainings", "")
    assert "The rate fell by more than chance explains." in text(page)
    [row] = rows(table(page, "Trainings and their effects"))
    assert row[:3] == ["A", "Setting torque", "2026-01-19"]
    # 12 of 240 after.
    assert row[5].replace("\xa0", " ") == "5.0 %"
    assert "No training on a check" in said(taught, "trainings", "?crews=B")


def test_files_behind_both(taught: Store) -> None:
    client = create_app(taught).server.test_client()

    def lines(path: str) -> list[dict[str, str]]:
        answer = client.get(path).get_data(as_text=True)
        return list(csv.DictReader(io.StringIO(answer)))

    assert lines("/csv/retraining?budget=3")[0]["crew"] == "B"
    [row] = lines("/csv/trainings")
    assert (row["crew_code"], row["after_nonconforming"]) == ("A", "12")
    assert row["sentence"].startswith("Crew A, setting torque, trained on 2026-01-19")
    assert lines("/csv/trainings?crews=B") == []


def test_panels_mark_trainings_and_the_baseline(taught: Store) -> None:
    panels = _panels(taught, "")
    names = [trace.name for trace in panels["crew-A"].data]
    assert "trained on 2026-01-19" in names
    assert not any(
        str(trace.name).startswith("trained") for trace in panels["crew-B"].data
    )
    # Crew A sets the one size there is.
    assert "trained on 2026-01-19" in str(panels["anchor_size-M12"].data)
    [base] = [trace for trace in panels["crew-A"].data if trace.name == "baseline"]
    # The first 12 of 24 weeks.
    assert [value is not None for value in base.y] == [True] * 12 + [False] * 12
    # Of another check nobody was trained.
    assert "trained on" not in str(_panels(taught, "?check=hole_depth"))


def _panels(store: Store, search: str) -> dict[str, Any]:
    return {
        graph.id["name"]: graph.figure
        for part in ("crew trends", "size trends")
        for graph in graphs(render_part(store, LATER, part, search))
    }


def test_an_unknown_part_or_budget_is_no_error(taught: Store) -> None:
    assert "No such part" in said(taught, "nothing")
    with taught.reader() as con:
        choices = read_choices(con)
    view = parse_view("?budget=7", choices)
    assert view.budget == 6
    assert "expected 3, 6, 12" in view.problems[0]
    assert parse_view("?budget=12", choices).budget == 12
    assert format_search(Selection(), budget=12) == "?budget=12"
    assert format_search(Selection(), budget=6) == ""
