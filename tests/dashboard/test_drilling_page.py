"""Drilling's page alone: what it cannot answer, and what its panels lack."""

from pathlib import Path

import pytest

from dashboard.app import route
from queries.store import Store
from tests.builders import build_store
from tests.dashboard.components import lead, text, whole_answer
from tests.terminal.test_drilling import M6, holes


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder: Path = tmp_path_factory.mktemp("drilling")
    return build_store(
        folder, sites={"ASH": holes(1), "BAY": holes(2), "COVE": holes(3)}
    )


def test_page_says_first_why_an_embedment_is_not_answered(store: Store) -> None:
    refused, logged = lead(
        whole_answer(store, "/drilling", "?size=M12&embedment=10")
    ).splitlines()
    assert "10 mm" in refused.replace("\xa0", " ")
    assert logged.startswith("A good hole takes")
    said = lead(whole_answer(store, "/drilling", "?size=M12&embedment=68,72,76"))
    assert "1 embedment between: see the table." in said
    half = text(whole_answer(store, "/drilling", "?size=M12&embedment=68,deep"))
    assert "Taken are 68\xa0mm." in half


def test_panels_count_what_they_show_and_say_what_they_lack(
    store: Store, tmp_path: Path
) -> None:
    """60 holes a site at 88 to 96 mm, M12: a line; 5 more of M6 at one site: none."""
    body = whole_answer(store, "/drilling", "")
    said = text(body).replace("\xa0", " ")
    assert "180 timed attempts with a depth" in said
    assert "No model line" not in said
    few = [
        {"setting_code": "M6-40", "hole_depth_mm": 45, "drill_s": 4} for _ in range(5)
    ]
    other = build_store(
        tmp_path,
        settings=[{}, M6],
        sites={"ASH": holes(1) + few, "BAY": holes(2), "COVE": holes(3)},
    )
    said = text(whole_answer(other, "/drilling", "")).replace("\xa0", " ")
    assert "5 timed attempts with a depth" in said
    assert said.count("No model line") == 1
    assert (
        "No model line for hammer (thin: fewer than 2 steps of 5 mm hold 20 timed "
        "holes)." in said
    )


def test_page_says_what_it_did_not_understand(store: Store) -> None:
    body, _, _ = route(
        store, "/drilling", "?size=M99&embedment=x&at=FIR&method=jet&shift=0.5"
    )
    said = text(body)
    for value in ("“M99”", "“x”", "“FIR”", "“jet”", "“0.5”"):
        assert value in said
