"""Intake's list of site maps; the words are this project's own."""

from pathlib import Path

import pytest

from dashboard.uploads.maps import maps_section
from dashboard.uploads.routes import Writing
from queries.store import Store
from tests.builders import build_store
from tests.dashboard.components import text, walk


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
