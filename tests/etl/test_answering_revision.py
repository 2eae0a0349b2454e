"""Which revision of a record answers its rejected rows, and which mended words do not.

By the rules of design section 4: a site's revision stands above what it revises.
"""

from pathlib import Path

import pytest

from etl.unload import unload
from queries.store import Store
from tests.builders import Row, build_store, load, write_log
from tests.etl.correcting import given_back, open_rejects, sent_again

HELD: Row = {"record_id": "R", "revision": "0", "setting_torque_nm": "55"}
MORE: Row = {"record_id": "S", "revision": "0"}


def torques(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            "select record_id, revision, setting_torque_nm from installation order by 1"
        ).fetchall()


@pytest.mark.parametrize("revision", ["1", "l"])
def test_a_lower_revision_answers_no_higher_one(revision: str, tmp_path: Path) -> None:
    """The revision says 20 Nm and lacks the crew; lists repeat the first entry."""
    store = build_store(tmp_path, [HELD])
    faulty = HELD | {"revision": revision, "setting_torque_nm": "20", "crew_code": ""}
    load(store, write_log(tmp_path / "b", [faulty], name="b"))
    repeated = load(store, write_log(tmp_path / "c", [HELD, MORE], name="c"))
    assert open_rejects(store) == [("SITE-1_b.csv", 2)]
    # As it was before, too, once the list is gone again.
    unload(store, repeated.receipts[0].source_file_id)
    assert open_rejects(store) == [("SITE-1_b.csv", 2)]
    whole = HELD | {"revision": "1", "setting_torque_nm": "20"}
    by_file = load(store, write_log(tmp_path / "d", [whole], name="d")).receipts[0]
    assert open_rejects(store) == []
    unload(store, by_file.source_file_id)
    assert open_rejects(store) == [("SITE-1_b.csv", 2)]


def test_a_mended_row_that_conflicts_stays_in_question(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """52 Nm beside the 50 that are held: only who logged them knows which it was."""
    held, other = ({"record_id": "R", "setting_torque_nm": nm} for nm in ("50", "52"))
    store = build_store(tmp_path, [held])
    faulty = other | {"crew_code": ""}
    load(store, write_log(tmp_path / "b", [faulty], name="b"))
    [asked] = given_back(store, capsys)
    sent_again(store, tmp_path / "m1.csv", [asked | {"crew_code": "CREW-1"}])
    assert open_rejects(store) == [("m1.csv", 2)]
    load(store, write_log(tmp_path / "c", [faulty, {"record_id": "S"}], name="c"))
    assert open_rejects(store) == [("m1.csv", 2)]
    asked_again = given_back(store, capsys)
    sent_again(store, tmp_path / "m2.csv", asked_again)
    assert len(open_rejects(store)) == 1


def test_what_settled_mended_words_did_not_mend_the_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Revision 1 has the 52 Nm of the mended row; without the mend it lacks a crew."""
    first = HELD | {"setting_torque_nm": "50"}
    second = HELD | {"revision": "1", "setting_torque_nm": "52"}
    store = build_store(tmp_path, [first, second])
    faulty = HELD | {"setting_torque_nm": "52", "crew_code": ""}
    # A revision above its own is held already, and was before it came.
    load(store, write_log(tmp_path / "x", [faulty], name="x"))
    assert open_rejects(store) == [("SITE-1_x.csv", 2)]
    [asked] = given_back(store, capsys)
    [mend] = sent_again(
        store, tmp_path / "m.csv", [asked | {"crew_code": "CREW-1"}]
    ).receipts
    assert open_rejects(store) == []
    unload(store, mend.source_file_id)
    assert open_rejects(store) == [("SITE-1_x.csv", 2)]
