"""How a browser asks for the parts of a page that are weighed after it."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import duckdb
import pytest
from dash import html
from flask.testing import FlaskClient

from dashboard.app import create_app, route
from etl.intake import load_paths
from tests.builders import build_store, write_log
from tests.dashboard.components import walk


def fill(client: FlaskClient, place: Mapping[str, str]) -> str:
    """Return what the browser is answered for a part's place."""
    key = (
        '{"check":["MATCH"],"edition":["MATCH"],"part":["MATCH"],"type":"later",'
        '"view":["MATCH"]}.children'
    )
    answer = client.post(
        "/_dash-update-component",
        json={
            "output": key,
            "outputs": {"id": place, "property": "children"},
            "inputs": [{"id": place, "property": "id", "value": place}],
            "state": [{"id": "address", "property": "search", "value": ""}],
            "changedPropIds": [],
        },
    )
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def test_the_browser_can_ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said: Any = html.P("weighed")
    monkeypatch.setattr("dashboard.app.LATER", {"doubts": lambda *_: said})
    client = create_app(build_store(tmp_path, [{}])).server.test_client()
    place = {
        "check": "setting_torque",
        "edition": "1",
        "part": "doubts",
        "type": "later",
        "view": "0",
    }
    assert "weighed" in fill(client, place)


# Whatever is published before its last part is asked for.
def test_a_part_is_of_the_edition_of_its_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def counted(con: duckdb.DuckDBPyConnection, *_: object) -> html.P:
        rows = con.execute("select count(*) from installation").fetchall()
        return html.P(f"{rows[0][0]} installations")

    monkeypatch.setattr("dashboard.app.LATER", {"doubts": counted})
    store = build_store(tmp_path, [{}])
    client = create_app(store).server.test_client()
    [place] = [
        part.id
        for part in walk(route(store, "/crews", "")[0])
        if isinstance(getattr(part, "id", None), dict)
        and part.id.get("part") == "doubts"
    ]
    log = write_log(tmp_path / "more", [{}, {}], site="SITE-2")
    load_paths(store, [log], keep_editions=2)
    assert "1 installations" in fill(client, place)
    assert "3 installations" in fill(client, place | {"edition": "2"})
    # What the browser sends back is not taken on trust.
    assert "3 installations" in fill(client, place | {"edition": "1; drop"})
    log = write_log(tmp_path / "last", [{}], site="SITE-3")
    load_paths(store, [log], keep_editions=1)
    for _ in range(2):
        assert "load the page again" in fill(client, place)
