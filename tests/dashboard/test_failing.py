"""A reader that fails: the page says what failed, and the rest of it can be used."""

from typing import Any

import duckdb
import pytest

from dashboard.address import parse_view
from dashboard.app import route
from dashboard.later import render_part
from dashboard.pages import LATER, drilling, sites
from dashboard.pages.drilling_bill import bill_answer
from queries.edition_file import DAMAGE_WORDS
from queries.errors import FirmsetError
from queries.readers.choices import Choices
from queries.store import Store
from tests.dashboard.components import hrefs, text


def _fail(error: Exception) -> Any:
    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (FirmsetError("the depths are too many"), "the depths are too many"),
        (duckdb.OutOfMemoryException("no room left"), "no room left"),
        (ZeroDivisionError("division by zero"), "ZeroDivisionError: division by zero"),
    ],
)
def test_a_section_that_fails_leaves_the_others(
    store: Store, monkeypatch: pytest.MonkeyPatch, error: Exception, said: str
) -> None:
    monkeypatch.setattr(drilling, "times_section", _fail(error))
    body, navigation, line = route(store, "/drilling", "?sites=EAST&crews=C4")
    assert "This part could not be made" in text(body)
    assert said in text(body)
    assert "What decides the time" in text(body)
    assert len(hrefs(navigation)) == 6
    assert line.startswith("Edition")


def test_a_page_that_fails_can_be_left(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    error = duckdb.BinderException("no rate")
    monkeypatch.setattr(sites, "read_kept_comparisons", _fail(error))
    body, navigation, _ = route(store, "/sites", "")
    assert "no rate" in text(body)
    assert "/crews" in hrefs(navigation)
    assert "Crews" in text(route(store, "/crews", "")[0])


def test_a_later_part_and_an_upload_that_fail_say_so(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing = {name: _fail(KeyError("gone")) for name in LATER}
    assert "gone" in text(render_part(store, failing, next(iter(LATER)), ""))
    monkeypatch.setattr("dashboard.pages.drilling_bill._hours", _fail(KeyError("gone")))
    assert "gone" in text(bill_answer(store, "data:,base64,", "list.csv", ""))


def test_damage_is_left_to_the_store(
    con: duckdb.DuckDBPyConnection, choices: Choices, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The store turns to another edition only if it gets to know.
    damage = duckdb.IOException(DAMAGE_WORDS[0])
    monkeypatch.setattr(drilling, "times_section", _fail(damage))
    with pytest.raises(duckdb.IOException):
        drilling.render(con, parse_view("?sites=EAST&crews=C4,C3", choices), choices)
