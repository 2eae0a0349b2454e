"""A store without any log: every page says how to begin, and takes the first file."""

import shutil
from pathlib import Path

import pytest

from dashboard.app import route
from dashboard.command import main
from dashboard.pages.first_steps import HEADING, LEDGER
from queries.store import Store
from tests.builders import build_store, load, write_setting_data
from tests.dashboard.components import hrefs, text, walk

LOGS = ("/sites", "/crews", "/drilling", "/records")
EMPTY_SHEET = "/intake/sheets/setting_data.xlsx"


def takes_files(store: Store, path: str, search: str = "") -> bool:
    """Say whether the page has the place that files are sent from, for its upload."""
    body = route(store, path, search)[0]
    places = [
        part.id
        for part in walk(body)
        if isinstance(getattr(part, "id", None), dict)
        and part.id["type"] == "intake-work"
    ]
    return [place["upload"] for place in places] == (["abc"] if search else [""])


@pytest.mark.parametrize("path", [*LOGS, "/intake", "/method", "/"])
def test_a_store_that_is_not_there_yet(tmp_path: Path, path: str) -> None:
    store = Store(tmp_path / "new")
    body = route(store, path, "")[0]
    assert text(body).startswith(f"{HEADING}\nNo site's log has been loaded into ")
    assert str(store.folder) in text(body)
    assert {EMPTY_SHEET, "/intake/sheets/log.xlsx"} <= {*hrefs(body)}
    assert takes_files(store, path)
    assert takes_files(store, path, "?upload=abc")
    assert not store.folder.exists()


def test_a_store_with_setting_data_alone(tmp_path: Path) -> None:
    store = build_store(tmp_path)
    for path in LOGS:
        body = route(store, path, "")[0]
        assert "1 row of setting data is loaded already." in text(body)
        assert EMPTY_SHEET not in hrefs(body)
        assert takes_files(store, path)
    assert HEADING not in text(route(store, "/intake", "")[0])
    more = [{"setting_code": "M16-84", "anchor_size": "M16"}]
    load(store, write_setting_data(tmp_path, [{}, *more]))
    assert "2 rows of setting data are" in text(route(store, "/sites", "")[0])


def test_a_store_with_a_log_shows_its_figures(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    assert all(HEADING not in text(route(store, path, "")[0]) for path in LOGS)


def test_a_ledger_without_an_edition_is_said(tmp_path: Path) -> None:
    """As a first load leaves it of which every file failed, or who removed editions."""
    store = build_store(tmp_path, [{}])
    shutil.rmtree(store.pointer_path.parent)
    empty = Store(tmp_path / "failed")
    assert load(empty, write_setting_data(tmp_path, [{"embedment_mm": "x"}])).failures
    for one in (Store(store.folder), empty):
        body = route(one, "/sites", "")[0]
        assert text(body).startswith(f"{HEADING}\nNothing is published in ")
        assert LEDGER in text(body)
        assert takes_files(one, "/sites")
    # The next load shows what the ledger held.
    load(store, write_setting_data(tmp_path, [{}, {"setting_code": "M16-84"}]))
    assert HEADING not in text(route(Store(store.folder), "/sites", "")[0])


@pytest.mark.parametrize("options", [[], ["--read-only"]])
def test_a_file_is_no_store_to_begin(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str]
) -> None:
    (tmp_path / "store").write_text("a file", "utf-8")
    assert main(["serve", *options, "--store", str(tmp_path / "store")]) == 2
    assert "it is a file; expected a folder" in capsys.readouterr().err


def test_what_nobody_can_send_files_to_is_not_served(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = str(tmp_path / "new")
    assert main(["serve", "--read-only", "--store", folder]) == 2
    assert main(["serve", "--host", "0.0.0.0", "--store", folder]) == 2
    said = capsys.readouterr()
    assert said.err.count("no edition is published here; load a site's log first") == 2
    assert said.out == ""
