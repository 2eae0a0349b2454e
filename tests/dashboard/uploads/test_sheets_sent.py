"""Workbooks with a sheet a day, sent on the page Intake. Counted by hand beside."""

from pathlib import Path

import pytest

from dashboard.app import create_app
from dashboard.command import main
from dashboard.uploads import run, work
from etl.store_maps import keep_map
from queries.store import Store
from tests.builders import build_store
from tests.dashboard.components import hrefs, rows, table, text
from tests.dashboard.uploads.sending import WRITING, staged, step
from tests.etl.company_logs import SITES, row, write_map, write_rows
from tests.etl.test_anchors_beside import ROWS, write_plates
from tests.etl.test_workbook_parts import HEADER, MONDAY, TUESDAY, write_week


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_store(tmp_path, [{}])


def held_numbers(store: Store) -> set[str]:
    with store.reader() as con:
        found = con.execute("select record_id from installation").fetchall()
    return {record_id for (record_id,) in found}


def test_rejected_rows_of_several_sheets_are_told_apart(
    store: Store, tmp_path: Path
) -> None:
    lost, other = ([number, "2026-05-05", "", "M12-68"] for number in (8, 9))
    sheets = {"Mon": [HEADER, lost], "Tue": [HEADER, *TUESDAY, other]}
    path = write_week(tmp_path / "week", sheets)
    keep_map(store, "week.toml", (path.parent / "week.toml").read_bytes())
    upload = step(store, staged(store, path.read_bytes(), path.name), "try")
    page = work.work(store, WRITING, upload.token, "")
    assert [row[:4] for row in rows(table(page, "Receipt"))] == [
        ["week19.xlsx [Mon]", "installations", "WEEKLY", "1"],
        ["week19.xlsx [Tue]", "installations", "WEEKLY", "2"],
    ]
    rejects = rows(table(page, "2 rejected rows"))
    assert [(row[0], row[1], row[3]) for row in rejects] == [
        ("week19.xlsx [Mon]", "1", "2"),
        ("week19.xlsx [Tue]", "1", "3"),
    ]


def test_a_sheet_that_fails_keeps_no_other_out(store: Store, tmp_path: Path) -> None:
    sheets = {"Mon": [["No", "Crew"]], "Tue": [HEADER, *TUESDAY]}
    path = write_week(tmp_path / "week", sheets)
    keep_map(store, "week.toml", (path.parent / "week.toml").read_bytes())
    upload = step(store, staged(store, path.read_bytes(), path.name), "try")
    fault = "week19.xlsx [Mon]: row 1: the site map week.toml takes"
    page = text(work.work(store, WRITING, upload.token, ""))
    assert fault in page
    assert "What the receipt lists can be loaded; the rest stays out" in page
    assert "A draft of its site map" not in page
    before = held_numbers(store)
    loaded = step(store, run.save_upload(upload, step="loading"), "load")
    assert loaded.step == "loaded"
    page = text(work.work(store, WRITING, upload.token, ""))
    assert fault in page
    assert "This was left out. Mend that and send the file again" in page
    assert held_numbers(store) - before == {"2026-05-05/1"}
    # Mended and sent again, what was loaded is said again.
    write_week(path.parent, sheets | {"Mon": [HEADER, *MONDAY]})
    again = step(store, staged(store, path.read_bytes(), path.name), "try")
    assert [(row["loaded"], row["duplicate"]) for row in again.outcome["receipts"]] == [
        (2, 0),
        (0, 1),
    ]


def test_remarks_of_several_parts_name_theirs(store: Store, tmp_path: Path) -> None:
    """Of a plate with two anchors the third part says that it has none."""
    path = write_plates(tmp_path / "a", ROWS[1:2])
    keep_map(store, "plates.toml", (path.parent / "plates.toml").read_bytes())
    upload = step(store, staged(store, path.read_bytes(), path.name), "try")
    page = text(work.work(store, WRITING, upload.token, ""))
    said = "the rejected row is no installation: nothing to correct"
    assert page.count(said) == 1
    assert f"plates.csv [anchor 3]: {said}" in page


# A crew that all three sites write as C1, where it is held as C01: one line.
def test_what_is_remarked_of_several_parts_is_said_once(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"crew_code": "C01"}])
    sites = SITES + '"Mill" = "MILL"'
    keep_map(store, "a.toml", write_map(tmp_path / "a", sites=sites).read_bytes())
    names = ("Harbour hall", "Quay 3", "Mill")
    sent = [row(1, name, Crew="C1") for name in names] + [row(2, "Moor")]
    path = write_rows(tmp_path / "a" / "export.csv", sent)
    upload = step(store, staged(store, path.read_bytes(), path.name), "try")
    said = text(work.work(store, WRITING, upload.token, "")).splitlines()
    assert [line for line in said if "read as" in line] == [
        "export.csv [site HARBOUR] and 2 more: crew_code C1 read as C01"
    ]
    [of_none] = [line for line in said if "rows of no site" in line]
    assert of_none.startswith("export.csv [no site]: rows of no site that the map has")


def test_empty_sheets_are_given_out_under_the_names_they_are_known_by(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    client = create_app(store, WRITING).server.test_client()
    page = work.work(store, WRITING, "", "")
    links = [href for href in hrefs(page) if "/sheets/" in href]
    assert {f"/intake/sheets/setting_data.{kind}" for kind in ("csv", "xlsx")} < {
        *links
    }
    for link in links:
        answer = client.get(link)
        name = Path(link).name
        assert answer.headers["Content-Disposition"] == f'attachment; filename="{name}"'
        if name.endswith(".xlsx"):
            assert answer.get_data().startswith(b"PK")
            continue
        assert main(["sheet", Path(link).stem]) == 0
        assert answer.get_data(as_text=True) == capsys.readouterr().out
    for name in ("walls.csv", "walls.xlsx"):
        assert client.get(f"/intake/sheets/{name}").status_code == 404


def test_what_sheets_there_are_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet"]) == 0
    listed = capsys.readouterr().out
    # Of section 5.1 of the design: master data that logs cannot tell.
    for name in ("setting_data", "crews", "trainings", "inspectors", "bits"):
        assert name in listed
    assert main(["sheet", "crew"]) == 2
    assert "crew: expected one of log, setting_data, " in capsys.readouterr().err
