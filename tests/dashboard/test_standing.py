"""An edition pinned in the address: last month's link shows last month's figures."""

from pathlib import Path

import pytest
from flask.testing import FlaskClient

from dashboard.app import create_app, route
from dashboard.command import main
from dashboard.later import render_part
from dashboard.pages import LATER, PAGES
from queries.store import Store
from tests.builders import build_store, load, write_log
from tests.dashboard.components import hrefs, lead, text

UNDER = {"setting_torque_nm": "20"}


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Edition 1: 1 of 3 nonconforming. Edition 2, a month later: 3 of 5."""
    folder: Path = tmp_path_factory.mktemp("standing")
    store = build_store(folder, sites={"NORTH": [UNDER, {}, {}]})
    load(store, write_log(folder / "more", [UNDER, UNDER], site="SOUTH"))
    return store


@pytest.fixture(scope="module")
def client(store: Store) -> FlaskClient:
    found: FlaskClient = create_app(store).server.test_client()
    return found


def _plain(words: str) -> str:
    return words.replace("\xa0", " ").replace("\u202f", " ").replace("\n", "")


def test_a_pinned_page_has_its_edition_s_figures_and_says_so(store: Store) -> None:
    body, _, line = route(store, "/sites", "?edition=1")
    assert "1/3" in _plain(text(body))
    assert "3/5" in _plain(text(route(store, "/sites", "")[0]))
    assert "pinned; the newest is 2. Show the newest edition, 2" in _plain(text(body))
    assert line.startswith("Edition 1")
    assert "/sites" in hrefs(body)


def test_the_newest_is_offered_to_be_pinned(store: Store) -> None:
    body, _, _ = route(store, "/sites", "?sites=NORTH")
    assert "pinned" not in text(body)
    assert "/sites?sites=NORTH&edition=2" in hrefs(body)


@pytest.mark.parametrize("path", PAGES)
def test_every_link_of_a_pinned_page_keeps_the_pin(store: Store, path: str) -> None:
    body, navigation, _ = route(store, path, "?edition=1&units=inch")
    away = [path + "?units=inch", path + "?edition=1"]  # to the newest, to mm and Nm
    # What leads to a part of the page itself stays on it.
    found = [href for href in hrefs([body, navigation]) if href[0] != "#"]
    assert set(away) <= set(found)
    for href in found:
        assert href in away or ("edition=1" in href and "units=inch" in href), href


@pytest.mark.parametrize("part", LATER)
def test_every_link_of_a_later_part_keeps_the_pin(store: Store, part: str) -> None:
    found = hrefs(render_part(store, LATER, part, "?edition=1&units=inch"))
    assert [href for href in found if "edition=1&units=inch" not in href] == []
    assert "is not published" in text(render_part(store, LATER, part, "?edition=7"))


def test_a_file_comes_from_the_pinned_edition(client: FlaskClient) -> None:
    answer = client.get("/csv/sites?check=setting_torque&edition=1")
    assert "edition-1.csv" in answer.headers["Content-Disposition"]
    assert "NORTH" in answer.get_data(as_text=True)
    assert "SOUTH" not in answer.get_data(as_text=True)
    assert "SOUTH" in client.get("/csv/sites").get_data(as_text=True)


def test_an_edition_that_is_not_there_is_said_in_words(
    store: Store, client: FlaskClient
) -> None:
    body, navigation, _ = route(store, "/crews", "?edition=7&sizes=M12")
    assert lead(body[0]) == "Edition 7 is not published: the newest is 2."
    assert "/crews?sizes=M12" in hrefs(body)
    assert len(hrefs(navigation)) == len(PAGES)
    answer = client.get("/csv/sites?edition=7")
    assert answer.status_code == 410
    assert "edition 7 is not published" in answer.get_data(as_text=True)


@pytest.mark.parametrize("value", ["last", "-1", "0", "1,2", "9" * 40, "٣"])
def test_a_senseless_edition_shows_the_newest_and_says_so(
    store: Store, value: str
) -> None:
    said = text(route(store, "/sites", f"?edition={value}")[0])
    assert "expected its number" in said
    assert "3/5" in _plain(said)


def test_the_terminal_answers_from_an_edition_too(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["rates", "--check", "setting_torque", "--format", "csv"]
    where = ["--store", str(store.folder)]
    assert main([*asked, "--edition", "1", *where]) == 0
    rows = capsys.readouterr().out.splitlines()
    row = dict(zip(rows[0].split(","), rows[1].split(","), strict=True))
    assert (row["nonconforming"], row["judged"]) == ("1", "3")
    assert main([*asked, "--edition", "9", *where]) == 2
    assert "the newest is 2" in capsys.readouterr().err
