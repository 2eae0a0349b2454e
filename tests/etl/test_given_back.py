"""What rejected rows hold comes back as it was, and no column of them is lost."""

from pathlib import Path

import pytest

from queries.store import Store
from tests.builders import build_store, load, write_log
from tests.etl.correcting import build_rejects, given_back, open_rejects, sent_again


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return build_rejects(tmp_path)


@pytest.mark.parametrize("lost", ["record_id", "crew_code", "hole_depth_mm"])
def test_a_column_that_is_gone_is_no_value_lost(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str], lost: str
) -> None:
    rows = given_back(store, capsys)
    kept = [{name: row[name] for name in row if name != lost} for row in rows]
    other = write_log(tmp_path / "more", [{"record_id": "N"}])
    sent_again(store, tmp_path / "mended.csv", kept)
    result = load(store, tmp_path / "mended.csv", other)
    [failure] = result.failures
    assert f"mended.csv: row 1: lacks the column {lost!r} ({lost})" in failure
    # The other file is loaded all the same.
    assert [receipt.loaded for receipt in result.receipts] == [1]
    assert len(open_rejects(store)) == 2


@pytest.mark.parametrize("note", ["\nfoo", "'\t'=1+1", "x;=1+1;y", "''=1"])
def test_a_note_comes_back_as_it_was(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], note: str
) -> None:
    store = build_store(tmp_path, [{"crew_code": "", "note": note}])
    rows = given_back(store, capsys)
    mended = [rows[0] | {"crew_code": "CREW-1"}]
    [receipt] = sent_again(store, tmp_path / "mended.csv", mended).receipts
    assert receipt.loaded == 1
    with store.reader() as con:
        assert con.execute("select note from installation").fetchall() == [(note,)]


def test_a_cell_longer_than_csv_takes_is_no_crash(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [
        row | {"firmset surplus": "n" * 200_000} for row in given_back(store, capsys)
    ]
    [receipt] = sent_again(store, tmp_path / "mended.csv", rows).receipts
    assert (receipt.rows_read, receipt.rejected) == (2, 2)


HEAD_MAP = """
[site]
code = "HEADS"
name = "Invented heads"
time_zone = "Europe/Lisbon"
[files]
match = "heads.csv"
[columns]
record_id = "=no"
installed_on = "day"
crew_code = "crew"
setting_code = "code"
"""


def test_a_head_is_not_run_either_and_is_known_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "heads.toml").write_text(HEAD_MAP, "utf-8")
    log = tmp_path / "heads.csv"
    log.write_text("=no,day,crew,code\nR1,2026-05-04,,M12-68\n", "utf-8")
    store = build_store(tmp_path / "store")
    load(store, log)
    [row] = given_back(store, capsys)
    assert row["'=no"] == "R1"
    [receipt] = sent_again(store, tmp_path / "m.csv", [row | {"crew": "C"}]).receipts
    assert receipt.loaded == 1
