"""Try a load, take it back, prove the store: in the terminal."""

import json
from datetime import timedelta
from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.terminal.receipts import rejected_words
from etl.ledger import open_ledger
from etl.publish import publish_edition, seal_edition
from queries.store import Store
from tests.builders import NOW, build_store, load, write_log
from tests.etl.company_logs import row, write_map, write_rows
from tests.ledger import ledger_content


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_store(tmp_path, [{}, {"setting_torque_nm": "30"}])


def run(store: Store, *arguments: str) -> int:
    return main([*arguments, "--store", str(store.folder)])


def test_a_dry_run_shows_and_writes_nothing(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [{"record_id": "N1"}, {"record_id": "N2", "crew_code": ""}]
    path = write_log(tmp_path / "new", rows, name="new")
    before = sorted(file.stat().st_mtime_ns for file in store.folder.rglob("*"))
    assert run(store, "load", "--dry-run", str(path)) == 0
    printed = capsys.readouterr().out
    assert "2 rows read = 1 loaded + 0 revised + 0 duplicate + 1 rejected" in printed
    assert "dry run, nothing was written" in printed
    assert "crew_code: blank, expected a crew's code" in printed
    after = sorted(file.stat().st_mtime_ns for file in store.folder.rglob("*"))
    assert after == before


# A word of the site's in a hundred rows is one line, not a hundred.
def test_a_dry_run_shows_a_rejected_row_of_each_reason(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows: list[dict[str, object]] = [{"record_id": "N1", "crew_code": ""}]
    rows += [
        {"record_id": f"P{number}", "setting_code": "half inch"} for number in range(12)
    ]
    rows += [{"record_id": f"Q{number}", "crew_code": "-"} for number in range(3)]
    path = write_log(tmp_path / "new", rows, name="new")
    assert run(store, "load", "--dry-run", str(path)) == 0
    printed = capsys.readouterr().out
    assert "16 rejected rows, the first of each reason:" in printed
    listed = [line.split() for line in printed.splitlines() if "expected a" in line]
    # By hand: 12 of rows 3 to 14, 3 of rows 15 to 17, and row 2.
    assert [line[1:3] for line in listed] == [["12", "3"], ["3", "15"], ["1", "2"]]


# Each word is to be translated, each date is mended by the same line of the map.
def test_dates_of_one_fault_are_one_reason_and_words_are_not(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows: list[dict[str, object]] = [
        {"record_id": f"D{day}", "installed_on": f"0{day}/12/2026"} for day in (3, 4, 5)
    ]
    rows += [{"record_id": f"W{n}", "setting_code": f"{n}/8 inch"} for n in (3, 5)]
    path = write_log(tmp_path / "new", rows, name="new")
    assert run(store, "load", "--dry-run", str(path)) == 0
    printed = capsys.readouterr().out.splitlines()
    listed = [line.split() for line in printed if "expected a" in line]
    # By hand: rows 2 to 4, then rows 5 and 6.
    assert [line[1:3] for line in listed] == [["3", "2"], ["1", "5"], ["1", "6"]]


@pytest.mark.parametrize(
    ("rows", "reasons", "said"),
    [
        (1, 1, "1 rejected row"),
        (10, 10, "10 rejected rows"),
        (11, 10, "11 rejected rows, the first of each reason"),
        (
            12,
            12,
            "12 rejected rows, the first of each of the 10 commonest reasons of 12",
        ),
    ],
)
def test_what_a_list_of_reasons_shows(rows: int, reasons: int, said: str) -> None:
    assert rejected_words(rows, reasons) == said


def test_a_dry_run_needs_no_store(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    logs = build_store(tmp_path / "made", [{}]).folder.parent / "logs"
    folder = tmp_path / "none"
    assert main(["load", "--dry-run", str(logs), "--store", str(folder)]) == 0
    assert "2 rows read = 2 loaded" in capsys.readouterr().out
    assert not folder.exists()


def test_a_dry_run_knows_what_is_held(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_log(tmp_path / "new", [{}], name="again")
    assert run(store, "load", "--dry-run", "--format", "json", str(path)) == 0
    [receipt] = json.loads(capsys.readouterr().out)
    assert (receipt["loaded"], receipt["duplicate"]) == (0, 1)


def test_unload(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = ledger_content(store)
    path = write_log(tmp_path / "new", [{"record_id": "N1"}], name="new")
    assert run(store, "load", str(path)) == 0
    capsys.readouterr()
    assert run(store, "receipts", "--format", "json") == 0
    [newest, *_] = json.loads(capsys.readouterr().out)
    assert run(store, "unload", str(newest["source_file_id"])) == 0
    assert "(SITE-1_new.csv) taken back: 1 row; edition" in capsys.readouterr().out
    assert ledger_content(store) == before
    assert run(store, "verify") == 0


def test_verify_names_every_proof(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(store, "verify") == 0
    lines = capsys.readouterr().out.splitlines()
    assert "ok     The tally equals a count of all rows" in lines
    assert all(line.startswith("ok ") for line in lines)


def test_verify_lists_what_is_wrong(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    with open_ledger(store) as con:
        con.execute("update tally set setting_torque_nonconforming = 0")
        edition_id = seal_edition(con, store, NOW, reason="spoiled by the test")
    publish_edition(store, edition_id)
    assert run(store, "verify") == 1
    assert "WRONG  The tally equals a count of all rows" in capsys.readouterr().out
    assert run(store, "verify", "--format", "json") == 1
    faults = {fault["proof"]: fault for fault in json.loads(capsys.readouterr().out)}
    assert set(faults) == {
        "The tally equals a count of all rows",
        "The month tally equals the sums of the tally",
    }
    subject = faults["The tally equals a count of all rows"]["subject"]
    assert subject.startswith("2026-05-04 SITE-1 CREW-1 M12")


# By hand: three sites' rows of one file, and another file's.
def test_all_parts_of_a_file_are_taken_back_at_once(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_map(tmp_path / "a")
    rows = [row(1, "Harbour hall"), row(1, "Quay 3"), row(1, "Moor")]
    path = write_rows(tmp_path / "a" / "export.csv", rows)
    first, quay, _ = load(store, path).receipts
    # By another map, later: what stands there again is no part of that load.
    write_map(tmp_path / "a", files="decimal = ','")
    load(store, path, now=NOW + timedelta(hours=1))
    # One of its parts is gone already.
    assert run(store, "unload", str(first.source_file_id)) == 0
    capsys.readouterr()
    assert run(store, "unload", str(quay.source_file_id), "--all-parts") == 0
    printed = capsys.readouterr().out.splitlines()
    assert [line.partition(" taken back: ")[2] for line in printed] == [
        *("1 row", "0 rows; edition 5 published")
    ]
    assert count_rows(store) == 4
    # One that is no more ends it; what was before it is done, and published.
    assert run(store, "unload", "2", str(first.source_file_id)) == 2
    said = capsys.readouterr().err
    assert "receipt 2 " in said
    assert "edition 6 published; then receipt" in said
    assert count_rows(store) == 2


def count_rows(store: Store) -> int:
    with store.reader() as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])
