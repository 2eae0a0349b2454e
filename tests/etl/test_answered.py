"""Lists that repeat all earlier weeks, and what stays settled in them."""

from pathlib import Path

import pytest

from etl.unload import unload
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.etl.correcting import Rows, given_back, open_rejects, sent_again

GOOD: Row = {"record_id": "G"}
NO_CREW: Row = {"record_id": "R", "crew_code": ""}
NO_NUMBER: Row = {"record_id": "", "note": "number not legible"}


def mend(store: Store, path: Path, rows: Rows, **values: str) -> int:
    [receipt] = sent_again(store, path, [rows[0] | values]).receipts
    assert (receipt.loaded, receipt.rejected) == (1, 0)
    return receipt.source_file_id


@pytest.mark.parametrize(
    ("faulty", "values"),
    [(NO_CREW, {"crew_code": "CREW-1"}), (NO_NUMBER, {"record_id": "N"})],
)
def test_a_mended_row_stays_mended_in_later_lists(
    faulty: Row,
    values: dict[str, str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    store = build_store(tmp_path, [GOOD, faulty])
    by_file = mend(store, tmp_path / "mended.csv", given_back(store, capsys), **values)
    [second] = load(
        store, write_log(tmp_path / "2", [GOOD, faulty, {"record_id": "H"}])
    ).receipts
    assert (second.loaded, second.duplicate, second.rejected) == (1, 1, 1)
    assert open_rejects(store) == []
    # Where the mended one leaves, the fault is open again, once a row that has it.
    unload(store, by_file)
    assert open_rejects(store) == [("SITE-1_log.csv", 3)]


def test_one_more_row_of_the_same_words_is_another_anchor(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [NO_NUMBER])
    mend(store, tmp_path / "mended.csv", given_back(store, capsys), record_id="N")
    load(store, write_log(tmp_path / "2", [NO_NUMBER, NO_NUMBER]))
    assert open_rejects(store) == [("SITE-1_log.csv", 3)]


def test_of_rows_alike_as_many_stay_mended_as_were(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [NO_NUMBER, GOOD, NO_NUMBER])
    _, last = given_back(store, capsys)
    by_file = mend(store, tmp_path / "mended.csv", [last], record_id="N")
    # A list of all weeks, twice: of the two rows one is still to be mended.
    for week in ("2", "3"):
        more = {"record_id": f"W{week}"}
        load(store, write_log(tmp_path / week, [NO_NUMBER, NO_NUMBER, GOOD, more]))
        assert len(open_rejects(store)) == 1
        assert len(given_back(store, capsys)) == 1
    unload(store, by_file)
    assert len(open_rejects(store)) == 2
    mend(store, tmp_path / "again.csv", given_back(store, capsys), record_id="N")
    assert len(open_rejects(store)) == 1


@pytest.mark.parametrize("other", [{**NO_CREW, "record_id": "S"}, NO_NUMBER])
def test_a_row_half_mended_is_open_in_a_later_list(
    other: Row, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [GOOD, NO_CREW, other])
    first, second = given_back(store, capsys)
    sent_again(store, tmp_path / "mended.csv", [first | {"crew_code": "C"}, second])
    assert open_rejects(store) == [("mended.csv", 3)]
    load(store, write_log(tmp_path / "2", [NO_CREW, other]))
    assert ("SITE-1_log.csv", 3) in open_rejects(store)
    assert ("SITE-1_log.csv", 2) not in open_rejects(store)


def test_a_conflict_that_a_revision_settled_stays_settled(tmp_path: Path) -> None:
    rows: list[Row] = [{"record_id": "R", "note": "one"}]
    other: list[Row] = [{"record_id": "R", "note": "two"}]
    store = build_store(tmp_path, rows)
    load(store, write_log(tmp_path / "2", other))
    assert len(open_rejects(store)) == 1
    load(store, write_log(tmp_path / "3", [*other, {"record_id": "S"}]))
    # The same conflict again: open once, where it came last.
    assert len(open_rejects(store)) == 1
    [settling] = load(
        store, write_log(tmp_path / "4", [{**rows[0], "revision": 1}])
    ).receipts
    assert open_rejects(store) == []
    load(store, write_log(tmp_path / "5", [*other, {"record_id": "T"}]))
    assert open_rejects(store) == []
    unload(store, settling.source_file_id)
    assert len(open_rejects(store)) == 1


def other_torque(folder: Path, torque: str, revision: str = "0") -> Path:
    row: Row = {"record_id": "R", "setting_torque_nm": torque, "revision": revision}
    return write_log(folder, [row, {"record_id": folder.name}])


def test_what_a_list_says_again_after_its_revision_is_settled(tmp_path: Path) -> None:
    """Of 50 and 52 the first by its text counts; 52 is made right by a revision."""
    store = build_store(tmp_path, [{"record_id": "R", "setting_torque_nm": "50"}])
    load(store, other_torque(tmp_path / "2", "52"))
    load(store, other_torque(tmp_path / "3", "52", "1"))
    assert open_rejects(store) == []
    load(store, other_torque(tmp_path / "4", "52"))
    assert open_rejects(store) == []
    # Nobody has seen 54 yet: it may be news.
    load(store, other_torque(tmp_path / "5", "54"))
    assert len(open_rejects(store)) == 1
    # That a later list repeats it makes it no second one.
    load(store, other_torque(tmp_path / "6", "54"))
    assert len(open_rejects(store)) == 1


def test_what_a_revision_says_first_is_settled_when_the_list_says_it(
    tmp_path: Path,
) -> None:
    store = build_store(tmp_path, [{"record_id": "R", "setting_torque_nm": "50"}])
    load(store, other_torque(tmp_path / "2", "52", "1"))
    load(store, other_torque(tmp_path / "3", "52"))
    assert open_rejects(store) == []


def test_a_mend_that_says_what_is_held_settles_the_conflict(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of 50 and 52: the row of 52 comes back as 50, without a revision."""
    store = build_store(tmp_path, [{"record_id": "R", "setting_torque_nm": "50"}])
    load(store, other_torque(tmp_path / "2", "52"))
    [row] = given_back(store, capsys)
    mended = [row | {"setting_torque_nm": "50"}]
    [receipt] = sent_again(store, tmp_path / "mended.csv", mended).receipts
    assert (receipt.duplicate, receipt.rejected) == (1, 0)
    assert open_rejects(store) == []


def test_a_record_said_again_answers_its_rejected_row(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Mended, sent with another fault, and sent as it was mended."""
    store = build_store(tmp_path, [NO_CREW])
    mend(store, tmp_path / "mended.csv", given_back(store, capsys), crew_code="CREW-1")
    load(store, write_log(tmp_path / "2", [{**NO_CREW, "crew_code": "?"}]))
    assert len(open_rejects(store)) == 1
    [again] = load(
        store, write_log(tmp_path / "3", [{"record_id": "R"}, {"record_id": "S"}])
    ).receipts
    assert again.duplicate == 1
    assert open_rejects(store) == []


def test_what_a_later_file_answers_too_stays_settled(tmp_path: Path) -> None:
    store = build_store(tmp_path, [NO_CREW])
    mended: Row = {"record_id": "R"}
    [first, last] = [
        load(store, write_log(tmp_path / name, [mended, {"record_id": name}]))
        .receipts[0]
        .source_file_id
        for name in ("2", "3")
    ]
    unload(store, first)
    assert open_rejects(store) == []
    unload(store, last)
    assert open_rejects(store) == [("SITE-1_log.csv", 2)]


@pytest.mark.parametrize("is_taken_back", [True, False])
@pytest.mark.parametrize(
    ("faulty", "values"),
    [(NO_CREW, {"crew_code": "CREW-1"}), (NO_NUMBER, {"record_id": "N"})],
)
def test_a_list_that_names_the_receipt_before_mends_the_rows_sent_since(
    faulty: Row,
    values: dict[str, str],
    is_taken_back: bool,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    store = build_store(tmp_path, [GOOD, faulty])
    rows = given_back(store, capsys)
    if is_taken_back:
        unload(store, 2)
    # Alike twice: of the one row that was mended one is.
    load(store, write_log(tmp_path / "2", [GOOD, faulty, faulty, {"record_id": "H"}]))
    mend(store, tmp_path / "mended.csv", rows, **values)
    assert len(open_rejects(store)) == (1 if faulty is NO_NUMBER else 0)
