"""What is answered at all: by its host, its size and its shape."""

import logging
import socket
from argparse import Namespace

import pytest

from dashboard import admission
from dashboard.app import LARGE_AT, create_app
from dashboard.terminal.serving import names_of
from queries.store import Store

# A file, a page's callback (that would be kept), and the page around it.
ASKED = ("/csv/sites?check=setting_torque", "/_dash-layout", "/sites")


@pytest.mark.parametrize("path", ASKED)
@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost:8050", 200),
        ("127.0.0.1:8050", 200),
        ("[::1]:8050", 200),
        (socket.gethostname(), 200),
        ("anchors.example", 200),
        # Foreign names that lead here, as a page elsewhere can have them (rebinding).
        ("evil.example", 421),
        ("localhost.evil.example", 421),
        ("", 421),
    ],
)
def test_only_its_own_names_are_answered(
    store: Store, path: str, host: str, status: int
) -> None:
    client = create_app(store, names=("anchors.example",)).server.test_client()
    answer = client.get(path, headers={"Host": host})
    assert answer.status_code == status
    if status == 421:
        assert "does not know itself as" in answer.get_data(as_text=True)
        assert "NORTH" not in answer.get_data(as_text=True)
        assert "default-src 'self'" in answer.headers["Content-Security-Policy"]


def test_a_server_that_others_reach_is_read_under_any_name(store: Store) -> None:
    client = create_app(store, names=None).server.test_client()
    assert client.get(ASKED[0], headers={"Host": "any.example"}).status_code == 200


@pytest.mark.parametrize(
    ("host", "given", "names"),
    [
        ("127.0.0.1", None, ()),
        ("localhost", ["anchors.example"], ("anchors.example",)),
        ("0.0.0.0", ["anchors.example"], None),
        ("192.0.2.7", None, None),
    ],
)
def test_names_are_asked_for_where_only_this_computer_reaches_it(
    host: str, given: list[str] | None, names: tuple[str, ...] | None
) -> None:
    assert names_of(Namespace(host=host, allow_uploads=given)) == names


CALLBACKS = "/_dash-update-component"


# Read as JSON, 180 MB of empty objects took 5 GB of memory.
@pytest.mark.parametrize("path", [CALLBACKS, "/sites", "/_dash-layout"])
def test_what_is_too_large_for_a_question_is_not_read(
    store: Store, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    monkeypatch.setattr(admission, "MOST_BYTES", 1000)
    client = create_app(store).server.test_client()
    body = '{"a": [' + "{}," * 400 + "{}]}"
    answer = client.post(path, data=body, content_type="application/json")
    assert answer.status_code == 413
    # A file has its own limit, and is refused here for want of an Origin.
    for place in LARGE_AT:
        assert client.post(place, data=body).status_code == 403


PAGE = "..page.children...navigation.children...edition.children.."


def sent(
    store: Store, body: str, caplog: pytest.LogCaptureFixture
) -> tuple[int, list[logging.LogRecord]]:
    """Return the status that a callback's body is answered with, and what is logged."""
    client = create_app(store).server.test_client()
    answer = client.post(CALLBACKS, data=body, content_type="application/json")
    return answer.status_code, caplog.records


@pytest.mark.parametrize(
    "body",
    [
        *("", "{", "null", "[]", "{}", '"x"', '{"output": 3}', '{"output": ["x"]}'),
        '{"output": "no.such"}',
        f'{{"output": "{PAGE}", "inputs": {{}}}}',
        f'{{"output": "{PAGE}", "inputs": [], "state": 3}}',
        # Nested deeper than Python follows.
        "[" * 10_000,
        "[" * 100_000,
    ],
)
def test_what_no_page_asks_is_refused_without_a_word_in_the_log(
    store: Store, body: str, caplog: pytest.LogCaptureFixture
) -> None:
    assert sent(store, body, caplog) == (400, [])


@pytest.mark.parametrize(
    "body",
    [
        f'{{"output": "{PAGE}"}}',
        f'{{"output": "{PAGE}", "inputs": [3], "outputs": []}}',
        f'{{"output": "{PAGE}", "inputs": [{{"id": "address"}}], "outputs": 7}}',
    ],
)
def test_a_callback_that_fails_is_one_line_in_the_log(
    store: Store, body: str, caplog: pytest.LogCaptureFixture
) -> None:
    status, [record] = sent(store, body, caplog)
    assert status == 500
    assert record.exc_info is None
    assert "\n" not in record.getMessage()
    assert record.getMessage().startswith("firmset: a callback failed: ")
    assert ".py:" in record.getMessage()


# Of all else the trace is what finds the fault.
def test_another_route_that_fails_is_logged_with_its_trace(
    store: Store, caplog: pytest.LogCaptureFixture
) -> None:
    server = create_app(store).server

    def fails() -> str:
        raise ZeroDivisionError

    server.add_url_rule("/fails", "fails", fails)
    assert server.test_client().get("/fails").status_code == 500
    assert [record.exc_info is not None for record in caplog.records] == [True]
