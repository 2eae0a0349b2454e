"""What the top of Crews says of sites that were chosen, and of trainings meanwhile."""

from pathlib import Path

import pytest

from dashboard.address import parse_view
from dashboard.pages import crews
from queries.readers.choices import read_choices
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv
from tests.dashboard.components import text

BOUNDS = ("2019-03-01", "2026-05-04", "2026-12-24")


def anchors(crew: str, brushed: int, loose: int = 0) -> list[Row]:
    """A hundred anchors of a crew over ten days, so many brushed too little, loose."""
    return [
        {
            "record_id": f"{crew}-{number}",
            "crew_code": crew,
            "installed_on": f"2026-05-{4 + number % 10:02}",
            "brush_count": "0" if number < brushed else "4",
            "setting_torque_nm": "20" if number < loose else "55",
        }
        for number in range(100)
    ]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """All crews of BAD brush too little; A of BAD is loose too, and was trained."""
    sites = {
        "BAD": anchors("A", 40, 30) + anchors("B", 40),
        "X": anchors("C", 1) + anchors("D", 1),
        "Y": anchors("E", 1) + anchors("F", 1),
    }
    store = build_store(tmp_path, settings=[{}], sites=sites)
    trainings: list[Row] = [
        {"crew_code": crew, "topic": topic, "trained_on": "2026-05-08"}
        for crew, topic in (("A", "setting_torque"), ("B", "setting_torque"))
    ]
    # On the first day, and after the last: nothing of theirs is before, or after, it.
    trainings += [trainings[0] | {"trained_on": day} for day in BOUNDS]
    load(store, write_csv(tmp_path / "trainings.csv", trainings))
    return store


def said(store: Store, search: str) -> str:
    with store.reader() as con:
        choices = read_choices(con)
        page = crews.render(con, parse_view(search, choices), choices)
    return text(page).replace("\xa0", " ").replace("\u202f", " ")


# By hand: 80 of 200, where the others' 4 of 400 make 2 expected.
def test_what_the_crews_of_a_chosen_site_share_is_said(store: Store) -> None:
    shared = "hole cleaning at Invented site BAD (80/200, 40.0 times expected)"
    assert shared in said(store, "?sites=BAD")
    assert "What they have in common" not in said(store, "?sites=X")
    assert "What they have in common" not in said(store, "")


def test_a_crew_out_of_line_that_was_trained_is_named(store: Store) -> None:
    found = said(store, "?check=setting_torque")
    assert "Trained on setting torque meanwhile: crew A on 2026-05-08." in found
    assert "meanwhile" not in said(store, "?check=hole_cleaning")
