"""Intake's list of site maps; the words are this project's own."""

from pathlib import Path

import pytest

from dashboard.address import parse_view
from dashboard.pages import intake
from dashboard.uploads.maps import maps_section
from dashboard.uploads.outcome import map_label
from dashboard.uploads.routes import Writing
from etl.store_maps import maps_of
from queries.readers.choices import read_choices
from queries.store import Store
from tests.builders import build_store, load
from tests.dashboard.components import rows, tables, text, text_forms, walk
from tests.etl.company_logs import row, write_map, write_rows


@pytest.mark.parametrize(
    ("off_because", "asks"), [("", True), ("the store cannot be written", False)]
)
def test_without_a_map_one_sentence_says_so(
    tmp_path: Path, off_because: str, asks: bool
) -> None:
    shown = maps_section(Store(tmp_path), Writing(off_because), "", "")
    assert "No site map is in force yet." in text(shown)
    assert ("Send a log above" in text(shown)) is asks
    assert not [one for one in walk(shown) if type(one).__name__ == "Table"]


def test_a_map_that_a_load_used_is_listed(tmp_path: Path) -> None:
    shown = text(maps_section(build_store(tmp_path, [{}]), Writing(""), "", ""))
    assert "1 site map in force" in shown
    assert "No site map is in force" not in shown


def test_a_map_in_force_is_changed_where_files_are_taken(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    [used] = maps_of(store)
    form = text_forms(maps_section(store, Writing(""), "abc", ""))["map-text"]
    assert form["post"] == "/intake/maps?upload=abc"
    assert form["texts"] == [
        {
            "label": map_label(used),
            "file": used.name,
            "href": f"/intake/maps/{used.sha256}.toml",
        }
    ]
    assert not text_forms(maps_section(store, Writing("it is not"), "abc", ""))


# Two sites and a row of neither, by hand.
def test_a_map_of_several_sites_names_them(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    write_map(tmp_path / "a")
    sent = [row(1, "Harbour hall"), row(1, "Quay 3"), row(2, "Moor")]
    load(store, write_rows(tmp_path / "a" / "export.csv", sent))
    [found] = maps_of(store)
    assert map_label(found) == "2 sites (HARBOUR and QUAY3): company.toml"
    [listed] = tables(maps_section(store, Writing(""), "", ""))
    assert {"Harbour sheds, Quay 3", "HARBOUR, QUAY3"} <= set(rows(listed)[0])
    with store.reader() as con:
        choices = read_choices(con)
        shown = text(intake.render(con, parse_view("", choices), choices))
    # The row that is of no site is counted, and no site for it.
    assert "3 logs from 2 sites: 3 rows read = 2 loaded, 0 revised" in shown
    assert "unknown site" in shown
