"""An answer is sent again only where it would be made again just so."""

from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest
from dash import html
from flask import Response
from flask.testing import FlaskClient

from dashboard import app as module
from dashboard import kept
from dashboard.answers import Answers
from dashboard.app import create_app
from dashboard.later import later
from dashboard.pages import intake
from dashboard.wish import wish
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load, write_log

PAGE = "..page.children...navigation.children...edition.children.."
PART = (
    '{"check":["MATCH"],"edition":["MATCH"],"part":["MATCH"],"type":"later",'
    '"view":["MATCH"]}.children'
)


@pytest.fixture
def own(tmp_path: Path) -> Store:
    """A store that the test may load into."""
    return build_store(tmp_path / "own", [{}])


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """The addresses whose pages were made and not sent again."""
    asked: list[tuple[str, str]] = []
    route = module.route

    def counted(store: Store, pathname: str, search: str) -> Any:
        asked.append((pathname, search))
        return route(store, pathname, search)

    monkeypatch.setattr(module, "route", counted)
    return asked


def ask(
    client: FlaskClient, pathname: str, search: str = "", **headers: str
) -> Response:
    """Ask for a page as the browser does."""
    names = ("page", "navigation", "edition")
    answer: Any = client.post(
        "/_dash-update-component",
        json={
            "output": PAGE,
            "outputs": [{"id": name, "property": "children"} for name in names],
            "inputs": [
                {"id": "address", "property": "pathname", "value": pathname},
                {"id": "address", "property": "search", "value": search},
            ],
            "changedPropIds": ["address.pathname"],
        },
        headers={name.replace("_", "-"): value for name, value in headers.items()},
    )
    assert answer.status_code == 200
    return answer


def client_of(store: Store) -> FlaskClient:
    found: FlaskClient = create_app(store).server.test_client()
    return found


def test_the_same_question_is_answered_with_the_same_bytes(
    store: Store, made: list[tuple[str, str]]
) -> None:
    client = client_of(store)
    for headers in ({}, {"Accept_Encoding": "gzip"}):
        one, two = (ask(client, "/sites", **headers) for _ in range(2))
        assert one.data == two.data
        assert dict(one.headers) == dict(two.headers)
    # Packed it is another answer, with the same safety headers as any.
    assert one.headers["Content-Encoding"] == "gzip"
    assert "default-src 'self'" in two.headers["Content-Security-Policy"]
    assert len(made) == 2


def test_whatever_changes_the_answer_is_another_question(
    store: Store, made: list[tuple[str, str]]
) -> None:
    client = client_of(store)
    asked: list[tuple[str, str, dict[str, str]]] = [
        ("/sites", "", {}),
        ("/crews", "", {}),
        ("/sites", "?sites=NORTH", {}),
        ("/sites", "?units=inch", {}),
        ("/sites", "", {"Accept_Language": "de"}),
    ]
    answers = [ask(client, path, search, **more).data for path, search, more in asked]
    assert len(set(answers)) == len(made) == len(asked)


def test_a_new_edition_is_shown_at_once(
    own: Store, made: list[tuple[str, str]], tmp_path: Path
) -> None:
    client = client_of(own)
    first = ask(client, "/sites").data
    pinned = ask(client, "/sites", "?edition=1").data
    load(own, write_log(tmp_path / "more", [{}], site="LATER-ON"))
    assert b"LATER-ON" not in first
    assert b"LATER-ON" in ask(client, "/sites").data
    # The pinned one says by now that it is the newest no more.
    again = ask(client, "/sites", "?edition=1").data
    assert b"LATER-ON" not in again
    assert again != pinned
    assert len(made) == 4


def test_an_answer_of_an_edition_that_came_meanwhile_is_not_kept_for_the_old_one(
    own: Store, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    client = client_of(own)
    old = ask(client, "/method").data
    route = module.route
    numbers = iter(range(2, 9))

    def overtaken(store: Store, pathname: str, search: str) -> Any:
        number = next(numbers)
        load(own, write_log(tmp_path / f"n{number}", [{}], site=f"SITE-{number}"))
        return route(store, pathname, search)

    monkeypatch.setattr(module, "route", overtaken)
    ask(client, "/sites")
    monkeypatch.setattr(module, "route", route)
    # The pointer goes back, as after a damaged edition: what is shown is edition 1.
    size = own.edition_path(1).stat().st_size
    own.pointer_path.write_text(f"1\n{size}\n", "ascii")
    assert ask(client, "/method").data == old
    assert b"SITE-2" not in ask(client, "/sites").data


def set_day(monkeypatch: pytest.MonkeyPatch, day: date) -> None:
    for where in ("dashboard.kept", "dashboard.answers"):
        monkeypatch.setattr(f"{where}.server_day", lambda: day)


# Intake says for how many days a site was silent.
def test_what_holds_on_one_day_is_made_anew_on_the_next(
    store: Store, made: list[tuple[str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    client = client_of(store)
    answers = []
    for number in (27, 27, 28, 28):
        set_day(monkeypatch, date(2026, 11, number))
        answers.append(ask(client, "/intake").data)
    assert len(made) == 2
    assert answers[0] == answers[1] != answers[2] == answers[3]


def test_what_is_made_over_midnight_is_not_kept(
    store: Store, made: list[tuple[str, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    set_day(monkeypatch, date(2026, 11, 27))
    last_sent = intake.last_sent

    def after_midnight(con: duckdb.DuckDBPyConnection) -> html.Section:
        kept.hold_today()
        set_day(monkeypatch, date(2026, 11, 28))
        shown = last_sent(con)
        set_day(monkeypatch, date(2026, 11, 27))
        return shown

    monkeypatch.setattr(intake, "last_sent", after_midnight)
    client = client_of(store)
    for _ in range(2):
        ask(client, "/intake")
    assert len(made) == 2


def test_what_failed_or_holds_only_now_is_made_anew(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = client_of(store)
    with monkeypatch.context() as patched:

        def fail(*_: object, **__: object) -> None:
            raise FirmsetError("no memory is left")

        patched.setattr("dashboard.pages.sites.read_kept_comparisons", fail)
        assert b"no memory is left" in ask(client, "/sites").data
    assert b"no memory is left" not in ask(client, "/sites").data


def test_later_parts_are_kept_too(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    render = "dashboard.later.render_part"

    def counted(*given: Any) -> str:
        asked.append(wish().units)
        return f"part {given[2]}"

    monkeypatch.setattr(render, counted)
    client = client_of(store)
    with store.reader() as con:
        place: Any = later(con, "doubts", module.View()).id
    body = {
        "output": PART,
        "outputs": {"id": place, "property": "children"},
        "inputs": [{"id": place, "property": "id", "value": place}],
        "state": [{"id": "address", "property": "search", "value": ""}],
        "changedPropIds": [],
    }
    answers = [client.post("/_dash-update-component", json=body) for _ in range(2)]
    assert [b"part doubts" in answer.data for answer in answers] == [True, True]
    assert len(asked) == 1


def test_the_oldest_answers_go_beyond_so_many_bytes() -> None:
    answers = Answers(most_bytes=10)
    for name in ("a", "b", "a", "c"):
        answers.keep(name, Response(name * 4))
        answers.get("a")
    # Three of four bytes are over ten; a was asked for last.
    found = [answers.get(name) for name in ("a", "b", "c")]
    assert [kept and kept.data for kept in found] == [b"aaaa", None, b"cccc"]
