"""What is weighed before anybody asks, and that it stands in nobody's way."""

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import pytest

from dashboard import kept
from dashboard import warming as module
from dashboard.app import route
from dashboard.warming import Warming
from queries.store import Store
from tests.builders import build_store, load, write_log


@pytest.fixture
def warming(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Store, Warming]]:
    """A store, and what warms it once it is started."""
    monkeypatch.setattr(module, "LOOK_EVERY_S", 0.01)
    monkeypatch.setattr(module, "LONGEST_REST_S", 0.0)
    store = build_store(tmp_path / "warm", [{}, {"crew_code": "C2"}])
    found = Warming(store)
    yield store, found
    found.stop()


def wait_until(holds: Callable[[], bool]) -> None:
    """Wait until something holds; fails after two minutes."""
    until = time.monotonic() + 120
    while not holds():
        assert time.monotonic() < until
        time.sleep(0.01)


def test_the_pages_of_each_edition_are_weighed_once(
    warming: tuple[Store, Warming], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    store, warm = warming
    weighed: list[str] = []
    compare = kept.read_comparisons

    def counted(con: Any, by: str, check_names: list[str], selection: Any) -> Any:
        if by == "site":
            weighed.extend(check_names)
        return compare(con, by, check_names, selection)

    monkeypatch.setattr(kept, "read_comparisons", counted)
    warm.start()
    wait_until(lambda: warm.warmed == 1)
    # Every check, by the page itself or by the turn of the checks.
    assert sorted(weighed) == sorted(module.CHECK_NAMES)
    route(store, "/sites", "")
    route(store, "/sites", "?check=hole_cleaning")
    assert len(weighed) == len(module.CHECK_NAMES)
    load(store, write_log(tmp_path / "more", [{}], site="SITE-2"))
    wait_until(lambda: warm.warmed == 2)
    assert len(weighed) == 2 * len(module.CHECK_NAMES)


# Another store in the same folder has its own edition 1.
def test_a_store_that_takes_anothers_place_is_weighed_too(
    warming: tuple[Store, Warming], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    store, warm = warming
    seen: list[tuple[int]] = []

    def counts(con: duckdb.DuckDBPyConnection, *_: object) -> None:
        seen.extend(con.execute("select count(*) from installation").fetchall())

    monkeypatch.setattr(module, "PAGES", {"/sites": ("Sites", counts)})
    monkeypatch.setattr(module, "LATER", {})
    monkeypatch.setattr(module, "BY_CHECK", ())
    warm.start()
    wait_until(lambda: warm.warmed == 1)
    other = build_store(tmp_path / "other", [{}] * 5)
    other.edition_path(1).replace(store.edition_path(1))
    wait_until(lambda: len(seen) == 2)
    assert seen == [(2,), (5,)]


def test_it_ends_in_the_middle_of_a_question(
    warming: tuple[Store, Warming], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, warm = warming
    begun = threading.Event()
    failed: list[type[Exception]] = []

    def endless(con: duckdb.DuckDBPyConnection, *_: object) -> None:
        begun.set()
        try:
            con.execute(
                "select count(*) from range(1000000000000) where hash(range) = 1"
            )
        except duckdb.Error as error:
            failed.append(type(error))
            raise

    monkeypatch.setattr(module, "PAGES", {"/sites": ("Sites", endless)})
    warm.start()
    assert begun.wait(60)
    warm.stop()
    assert failed == [duckdb.InterruptException]
    assert warm.warmed is None


def test_a_page_that_fails_stops_no_other(
    warming: tuple[Store, Warming], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, warm = warming
    made: list[str] = []

    def fails(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(module, "BY_CHECK", ())
    monkeypatch.setattr(module, "LATER", {})
    pages = {
        "/sites": ("Sites", fails),
        "/crews": ("Crews", lambda *_: made.append("crews")),
    }
    monkeypatch.setattr(module, "PAGES", pages)
    warm.start()
    wait_until(lambda: warm.warmed == 1)
    assert made == ["crews"]


def test_a_store_without_an_edition_is_waited_for(tmp_path: Path) -> None:
    warm = Warming(Store(tmp_path / "none"))
    warm.start()
    warm.stop()
    assert warm.warmed is None
