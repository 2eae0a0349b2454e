"""The served application: pages, downloads, headers, and nothing that raises."""

import csv
import io
from pathlib import Path

import pytest

from dashboard.app import create_app, route
from dashboard.pages import PAGES
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.store import Store
from tests.builders import build_store


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return build_store(
        tmp_path_factory.mktemp("app"),
        sites={
            "ONE": [{}, {"setting_torque_nm": "30", "drill_s": "12"}, {"note": "=1+1"}],
            "TWO": [{"setting_torque_nm": ""}],
        },
    )


def test_the_pages_are_those_of_the_design() -> None:
    assert [title for title, _ in PAGES.values()] == [
        *("Sites", "Crews", "Drilling", "Records", "Intake", "Method")
    ]


@pytest.mark.parametrize("path", [*PAGES, "/", "/nowhere"])
@pytest.mark.parametrize("search", ["", "?sites=ONE&check=setting_torque", "?sites=X"])
def test_a_page_is_rendered_for_any_address(
    store: Store, path: str, search: str
) -> None:
    body, navigation, edition = route(store, path, search)
    assert body
    assert navigation
    assert "Edition 1" in edition


def test_a_store_without_an_edition_says_so(tmp_path: Path) -> None:
    body, _, _ = route(Store(tmp_path), "/sites", "")
    assert "no edition is published here" in str(body)


# Nothing was recorded on TWO: words, and no rate of 0 %.
def test_nothing_to_judge_is_said_in_words(store: Store) -> None:
    body, _, _ = route(store, "/sites", "?check=setting_torque")
    assert "nothing to judge" in str(body).lower()


def test_the_csv_of_sites_holds_the_readers_figures(store: Store) -> None:
    client = create_app(store).server.test_client()
    answer = client.get("/csv/sites?check=setting_torque")
    assert answer.status_code == 200
    rows = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))
    with store.reader() as con:
        read = read_rates(con, ["site"], Selection(check_names=("setting_torque",)))
    assert [(row["site"], row["judged"], row["nonconforming"]) for row in rows] == [
        (row["site"], str(row["judged"]), str(row["nonconforming"]))
        for row in read.to_dicts()
    ]


def test_headers_keep_the_page_to_itself(store: Store) -> None:
    client = create_app(store).server.test_client()
    answer = client.get("/")
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe-eval" not in policy
    assert "frame-ancestors 'none'" in policy
    assert client.get("/healthz").status_code == 200


def test_no_chart_can_be_sent_to_a_cloud(store: Store) -> None:
    for path in ("/sites", "/crews", "/drilling"):
        text = str(route(store, path, "")[0])
        assert text.count("Graph(") == text.count("'showSendToCloud': False") > 0
