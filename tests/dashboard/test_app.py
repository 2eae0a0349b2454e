"""The application over HTTP: pages, files, headers, and the store without data."""

import csv
import io
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from dash import Dash
from flask.testing import FlaskClient

from dashboard.app import create_app, route
from dashboard.downloads import QUESTIONS
from dashboard.later import render_part
from dashboard.pages import LATER, PAGES
from dashboard.shell import NOT_A_CERTIFICATE
from dashboard.spreadsheet import csv_text
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.store import Store
from tests.dashboard.components import hrefs, text, walk


@pytest.fixture(scope="module")
def app(store: Store) -> Dash:
    return create_app(store)


@pytest.fixture
def client(app: Dash) -> FlaskClient:
    found: FlaskClient = app.server.test_client()
    return found


def _show(client: FlaskClient, pathname: str, search: str = "") -> str:
    """Ask for a page as the browser does and return the answer's JSON."""
    outputs = [
        {"id": "page", "property": "children"},
        {"id": "navigation", "property": "children"},
        {"id": "edition", "property": "children"},
    ]
    answer = client.post(
        "/_dash-update-component",
        json={
            "output": "..page.children...navigation.children...edition.children..",
            "outputs": outputs,
            "inputs": [
                {"id": "address", "property": "pathname", "value": pathname},
                {"id": "address", "property": "search", "value": search},
            ],
            "changedPropIds": ["address.pathname"],
        },
    )
    assert answer.status_code == 200
    return str(answer.get_data(as_text=True))


@pytest.mark.parametrize("path", ["/", *PAGES, "/nowhere"])
def test_every_address_answers_200(client: FlaskClient, path: str) -> None:
    assert client.get(path).status_code == 200
    assert "className" in _show(client, path)


def test_layout_says_that_it_never_certifies(client: FlaskClient) -> None:
    layout = client.get("/_dash-layout").get_data(as_text=True)
    assert NOT_A_CERTIFICATE in layout


def test_unknown_path_says_so(store: Store) -> None:
    body, _, _ = route(store, "/nowhere", "")
    assert "firmset has no page at /nowhere." in text(body)


def test_home_is_sites(store: Store) -> None:
    assert text(route(store, "/", "")[0]) == text(route(store, "/sites", "")[0])


def test_the_pages_are_those_of_the_design() -> None:
    titles = [title for title, _ in PAGES.values()]
    assert titles == ["Sites", "Crews", "Drilling", "Records", "Intake", "Method"]


def test_navigation_keeps_the_filters(store: Store) -> None:
    _, navigation, _ = route(store, "/crews", "?sites=NORTH&page=3")
    links: list[Any] = [part for part in walk(navigation) if hasattr(part, "href")]
    assert [link.href for link in links] == [f"{path}?sites=NORTH" for path in PAGES]
    current = [link for link in links if getattr(link, "aria-current", "") == "page"]
    assert [link.children for link in current] == ["Crews"]


def test_unknown_filter_is_said_on_the_page(client: FlaskClient) -> None:
    assert "which is not in this store" in _show(client, "/sites", "?sites=NOWHERE")


def test_headers(client: FlaskClient) -> None:
    headers = client.get("/sites").headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "script-src 'self' 'sha256-" in policy
    assert "unsafe-eval" not in policy
    assert "http" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"


def test_page_names_no_other_host(client: FlaskClient) -> None:
    html = client.get("/sites").get_data(as_text=True)
    assert "https://" not in html.replace("https://browsehappy.com", "")
    assert 'lang="en"' in html


def test_health(client: FlaskClient) -> None:
    assert client.get("/healthz").get_data(as_text=True) == "OK"


def test_csv_of_a_batch_needs_one_batch(client: FlaskClient) -> None:
    assert client.get("/csv/batch").status_code == 400
    one = "?sites=NORTH&crews=C1&from=2026-05-04&to=2026-05-04"
    assert client.get(f"/csv/batch{one}").status_code == 200


@pytest.mark.parametrize("question", sorted(set(QUESTIONS) - {"batch"}))
def test_csv_of_every_question(client: FlaskClient, question: str) -> None:
    answer = client.get(f"/csv/{question}")
    assert answer.status_code == 200
    assert answer.content_type == "text/csv; charset=utf-8"
    assert f"firmset-{question}-edition-1.csv" in answer.headers["Content-Disposition"]
    rows = csv.DictReader(io.StringIO(answer.get_data(as_text=True)))
    assert rows.fieldnames
    # No training is registered in this store (test_later.py has one that is), no
    # batch has twenty peers to be unlike, there is one month only, no record is
    # revised (test_revised.py has some that are), no hole planned (test_unlogged.py).
    nothing = ("trainings", "doubts", "site-changes", "crew-changes", "unlogged")
    assert list(rows) or question in nothing or "revised" in question


def test_every_file_that_is_offered_is_there(app: Dash, store: Store) -> None:
    client = app.server.test_client()
    search = "?check=setting_torque"
    shown = [
        *(route(store, path, search)[0] for path in PAGES),
        *(render_part(store, LATER, part, search) for part in LATER),
    ]
    offered = {href for part in shown for href in hrefs(part)}
    files = {
        (kind, href.partition("?")[0]): href
        for href in offered
        for kind in ("/csv/", "/xlsx/", "/pdf/")
        if href.startswith(kind)
    }
    assert {kind for kind, _ in files} == {"/csv/", "/xlsx/", "/pdf/"}
    for href in files.values():
        with client.get(href) as answer:
            assert answer.status_code == 200, href


def test_csv_has_the_page_s_figures(client: FlaskClient) -> None:
    answer = client.get("/csv/sites?check=setting_torque&sites=NORTH")
    (row,) = csv.DictReader(io.StringIO(answer.get_data(as_text=True)))
    assert (row["judged"], row["nonconforming"], row["rate"]) == ("10", "4", "0.4")


def test_csv_is_what_the_reader_reads(client: FlaskClient, store: Store) -> None:
    answer = client.get("/csv/crews?check=setting_torque")
    rows = list(csv.DictReader(io.StringIO(answer.get_data(as_text=True))))
    with store.reader() as con:
        read = read_rates(con, ["crew"], Selection(check_names=("setting_torque",)))
    assert [(row["crew"], row["judged"], row["nonconforming"]) for row in rows] == [
        (row["crew"], str(row["judged"]), str(row["nonconforming"]))
        for row in read.to_dicts()
    ]


def test_csv_nothing_judged_is_blank_not_zero(client: FlaskClient) -> None:
    answer = client.get("/csv/sites?check=setting_torque&sites=EAST")
    (row,) = csv.DictReader(io.StringIO(answer.get_data(as_text=True)))
    assert (row["judged"], row["rate"], row["high"]) == ("0", "", "")


def test_csv_bad_filter_is_refused_in_words(client: FlaskClient) -> None:
    # A file that silently held all sites would be read as the one that was asked for.
    answer = client.get("/csv/sites?sites=NOWHERE")
    assert answer.status_code == 400
    assert "NOWHERE" in answer.get_data(as_text=True)


def test_csv_unknown_question(client: FlaskClient) -> None:
    assert client.get("/csv/passwords").status_code == 404


def test_csv_text_is_safe_in_a_spreadsheet() -> None:
    frame = pl.DataFrame(
        {
            "record_id": ["=1+1", "-2", "@SUM(A1)", "plain"],
            "margin": [-1.5, 0.0, 1.0, None],
            "checks": [["a", "b"], [], ["=c"], ["d"]],
        }
    )
    lines = csv_text(frame).splitlines()
    assert lines[1:] == [
        "'=1+1,-1.5,a; b",
        '\'-2,0.0,""',
        "'@SUM(A1),1.0,'=c",
        "plain,,d",
    ]


def test_a_store_without_an_edition_says_what_to_do(tmp_path: Path) -> None:
    store = Store(tmp_path)
    client = create_app(store).server.test_client()
    assert client.get("/sites").status_code == 200
    assert client.get("/_dash-layout").status_code == 200
    assert "firmset load" in text(route(store, "/sites", "")[0])
    assert client.get("/csv/sites").status_code == 503
