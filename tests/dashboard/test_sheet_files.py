"""Sheets as files: `firmset report`, and the addresses behind the pages' links."""

import ast
from datetime import date
from pathlib import Path

import pytest
from flask.testing import FlaskClient

import dashboard
from dashboard.app import create_app
from dashboard.command import main
from dashboard.sheets.content import file_name
from queries.selection import Selection
from queries.store import Store


@pytest.fixture(scope="module")
def client(store: Store) -> FlaskClient:
    found: FlaskClient = create_app(store).server.test_client()
    return found


def report(store: Store, *arguments: str) -> int:
    return main(["report", *arguments, "--store", str(store.folder)])


def test_report_writes_what_the_page_downloads(
    store: Store, client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert report(store, "--site", "NORTH", "--from", "2026-05-01") == 0
    answer = client.get("/pdf/site?sites=NORTH&from=2026-05-01&check=tilt")
    assert answer.content_type == "application/pdf"
    name = "firmset-site-NORTH-from-2026-05-01-edition-1.pdf"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
    assert answer.get_data() == (tmp_path / name).read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_report_replaces_a_pdf_and_nothing_else(
    store: Store,
    client: FlaskClient,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    old, log = tmp_path / "old.pdf", tmp_path / "log.pdf"
    old.write_bytes(b"%PDF-1.4 an older sheet")
    log.write_text("record_id,crew\n", "utf-8")
    assert report(store, "--crew", "C2", "--site", "NORTH", "--out", str(old)) == 0
    assert capsys.readouterr().out == f"{old}\n"
    answer = client.get("/pdf/crew?crews=C2&sites=NORTH")
    assert answer.get_data() == old.read_bytes()
    assert "firmset-crew-C2-part-edition-1" in answer.headers["Content-Disposition"]
    assert report(store, "--crew", "C2", "--out", str(log)) == 2
    assert "log.pdf: is there already, is no PDF" in capsys.readouterr().err
    assert log.read_text("utf-8") == "record_id,crew\n"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "expected --site CODE or --crew CODE, found neither"),
        (["--site", "NOWHERE"], "unknown site 'NOWHERE': expected EAST, NORTH, SOUTH"),
        (["--crew", "C1,C2"], "--crew C1,C2: expected one crew"),
        (["--crew", "C9"], "unknown crew 'C9'"),
        (["--site", "NORTH", "--out", "."], "is a folder"),
        (["--site", "NORTH", "--out", "no/x.pdf"], "there is no folder no"),
    ],
)
def test_report_says_in_one_line_what_is_wrong(
    store: Store,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert report(store, *arguments) == 2
    found = capsys.readouterr()
    assert said in found.err
    assert found.err.count("\n") == 1
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("address", "status", "said"),
    [
        ("/pdf/site", 400, "Expected one site"),
        ("/pdf/site?sites=NORTH,SOUTH", 400, "Expected one site"),
        ("/pdf/crew?sites=NORTH", 400, "Expected one crew"),
        ("/pdf/site?sites=NOWHERE", 400, "which is not in this store"),
        ("/pdf/gang?crews=C1", 404, "No such sheet"),
    ],
)
def test_an_unclear_address_gets_words(
    client: FlaskClient, address: str, status: int, said: str
) -> None:
    answer = client.get(address)
    assert answer.status_code == status
    assert said in answer.get_data(as_text=True)


def test_file_names_are_plain_and_their_own() -> None:
    dated = Selection(from_on=date(2026, 5, 1), anchor_sizes=("M12",))
    assert (
        file_name("site", "A/1", dated, 7)
        == "firmset-site-A-2f1-from-2026-05-01-part-edition-7.pdf"
    )
    codes = ["A/1", "A-1", "A 1", "A1", "Ä1", "../A1"]
    names = {file_name("crew", code, Selection(), 7) for code in codes}
    assert len(names) == len(codes)
    assert not any("/" in name for name in names)


def test_the_library_waits_until_a_sheet_is_made() -> None:
    root = Path(dashboard.__file__).parent
    drawing = {f"dashboard.sheets.{name}" for name in ("draw", "paper", "table")}
    for path in sorted(root.rglob("*.py")):
        # The command's module is itself imported when the command runs.
        if path.parent.name == "sheets" or path.name == "report.py":
            continue
        body = ast.parse(path.read_text("utf-8")).body
        froms = {node.module for node in body if isinstance(node, ast.ImportFrom)}
        assert not froms & {"fpdf", "dashboard.terminal.report", *drawing}, path.name
