"""A file sent on the page Intake: tried, and loaded. Counted by hand beside."""

import shutil
import signal
import threading
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from dashboard.terminal.receipts import receipt_row
from dashboard.uploads import job, run, work
from dashboard.uploads.outcome import outcome_of
from etl.intake import load_paths
from etl.lock import hold_store
from etl.store_maps import keep_map, maps_of
from etl.upload import Upload, find_upload
from queries.store import Store
from tests.dashboard.components import rows, table, text, text_forms, walk
from tests.dashboard.uploads.sending import (
    FATES,
    NAME,
    OWN,
    WRITING,
    digests,
    shown,
    staged,
    step,
    wait_until,
)
from tests.store_state import assert_whole


def test_a_file_is_tried_by_a_child_then_loaded_with_the_terminal_s_receipt(
    client: FlaskClient, store: Store, sent: bytes, base: Path, tmp_path: Path
) -> None:
    before = digests(store)
    answer = client.post(f"/intake/uploads?name={NAME}", data=sent, headers=OWN)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    token = answer.get_json()["address"].removeprefix("/intake?upload=")
    assert "being tried" in text(work.work(store, WRITING, token, ""))
    wait_until(lambda: work.followed(store, token)[1] is True)
    said = text(work.work(store, WRITING, token, ""))
    assert "tried; nothing was written" in said
    assert digests(store) == before

    twin = Store(tmp_path / "twin")
    shutil.copytree(base / "store", twin.folder)
    (expected,) = load_paths(twin, [base / "sent" / NAME]).receipts
    work.loaded(store, WRITING, token)
    wait_until(lambda: work.followed(store, token)[1] is True)
    upload = find_upload(store, token)
    assert upload and upload.step == "loaded"
    assert upload.outcome["receipts"] == [receipt_row(expected)]
    assert {name: upload.outcome["receipts"][0][name] for name in FATES} == FATES
    assert "Edition 2 is published" in shown(store, upload)
    assert not upload.path.exists()
    # Pressed again: nothing is started, nothing changes.
    after = digests(store)
    work.loaded(store, WRITING, token)
    assert find_upload(store, token) == upload
    assert digests(store) == after


def test_trial_shows_receipt_and_rejected_row(store: Store, tried: Upload) -> None:
    page = work.work(store, WRITING, tried.token, "")
    receipt = table(page, "Receipt")
    assert rows(receipt)[0][3:] == ["5", "3", "0", "1", "1", "1"]
    (reject,) = rows(table(page, "1 rejected row"))
    assert reject[:3] == ["1", "crew_code: blank, expected a crew's code", "6"]
    ids = [getattr(part, "id", None) for part in walk(page)]
    assert "upload-load" in ids


def test_the_same_file_sent_again_changes_nothing(
    store: Store, sent: bytes, tried: Upload
) -> None:
    step(store, tried, "load")
    before = digests(store)
    again = step(store, step(store, staged(store, sent), "try"), "load")
    assert "brought nothing new" in shown(store, again)
    assert digests(store) == before


def test_only_the_bytes_that_were_tried_are_loaded(
    store: Store, sent: bytes, tried: Upload
) -> None:
    tried.path.write_bytes(sent.replace(b"R7", b"R6"))
    before = digests(store)
    after = step(store, tried, "load")
    assert "not there any more as it was received" in shown(store, after)
    assert digests(store) == before


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        (b"%PDF-1.7", "is a PDF document, not a log; send the table itself"),
        (b"GIF89a", "is a picture (GIF), not a log; send the table itself"),
    ],
)
def test_a_file_that_no_map_can_read_says_what_it_is(
    store: Store, sent: bytes, words: str
) -> None:
    said = shown(store, step(store, staged(store, sent, "other.csv"), "try"))
    assert f"other.csv: {words}" in said
    assert "no site map of this store" not in said
    assert str(store.folder) not in said


def test_no_map_fits_gives_a_draft_and_a_map_chosen_by_hand_loads(
    store: Store, sent: bytes, client: FlaskClient
) -> None:
    odd = sent.replace(b"drill_method", b"moon phase", 1)
    odd = odd.replace(b"setting_code", b"job", 1)
    upload = step(store, staged(store, odd, "other.csv"), "try")
    said = shown(store, upload)
    assert "no site map of this store is for a file of this name" in said
    assert "column not placed: 'moon phase'" in said
    draft = client.get(f"/intake/uploads/{upload.token}/draft.toml")
    assert 'record_id = "record_id"' in draft.get_data(as_text=True)
    # Its values, M12-68, are setting codes of the store.
    assert 'setting_code = "job"  # likely' in draft.get_data(as_text=True)
    assert "attachment" in draft.headers["Content-Disposition"]
    form = text_forms(work.work(store, WRITING, upload.token, ""))["draft"]
    assert form["text"] == draft.get_data(as_text=True)
    assert form["file"] == "other.toml"
    assert form["post"] == f"/intake/maps?upload={upload.token}"

    upload = step(store, staged(store, sent, "other.csv"), "try")
    (in_force,) = [one for one in maps_of(store) if one.in_force]
    chosen = job.save_upload(upload, map_sha256=in_force.sha256)
    done = step(store, step(store, chosen, "try"), "load")
    assert done.step == "loaded"
    (receipt,) = done.outcome["receipts"]
    assert {name: receipt[name] for name in FATES} == FATES
    chosen, unread = receipt["remarks"]
    assert chosen == "site map SITE-1_log.toml: chosen by hand"
    assert unread.startswith("setting_torque_nm: 1 value could not be read, in row")


def test_what_a_kept_draft_does_not_fit_is_said(store: Store, sent: bytes) -> None:
    """The draft was kept with a slip in a column's name, and the file tried again."""
    odd = sent.replace(b"setting_code", b"job", 1)
    upload = step(store, staged(store, odd, "other.csv"), "try")
    form = text_forms(work.work(store, WRITING, upload.token, ""))["draft"]
    slipped = form["text"].replace('= "job"', '= "jbo"')
    kept = keep_map(store, form["file"], slipped.encode())

    def said() -> str:
        found = find_upload(store, upload.token)
        assert found is not None
        return text(outcome_of(found, maps_of(store), kept.sha256))

    assert "Try the file again with it" in said()
    step(store, upload, "try")
    assert "takes setting_code from 'jbo', but the file has the columns" in said()
    assert "The file was tried with it; change it here" in said()


def test_rejected_rows_come_back_corrected(store: Store, client: FlaskClient) -> None:
    given = client.get("/csv/rejects").get_data(as_text=True)
    assert "LOST" in given
    mended = given.replace('2026-05-04,"",', "2026-05-04,CREW-1,")
    done = step(
        store, step(store, staged(store, mended.encode(), "m.csv"), "try"), "load"
    )
    (receipt,) = done.outcome["receipts"]
    assert (receipt["rows_read"], receipt["loaded"], receipt["rejected"]) == (1, 1, 0)
    # Nothing is left to be corrected: the header alone.
    assert len(client.get("/csv/rejects").get_data(as_text=True).splitlines()) == 1


@pytest.mark.parametrize(
    ("content", "name", "words"),
    [
        (b"%PDF-1.7 ...", NAME, "is a PDF document, not a log"),
        (b"\0\1\2\3" * 99, NAME, "is a binary file of unknown kind"),
        (b"[site]\n", "site.toml", "a site map (.toml) is sent under Site maps"),
    ],
)
def test_what_is_no_log_is_said_in_words_without_folders(
    store: Store, content: bytes, name: str, words: str
) -> None:
    upload = step(store, staged(store, content, name), "try")
    said = shown(store, upload)
    assert words in said
    assert str(store.folder) not in said
    assert not run.may_load(upload)


def test_a_busy_store_is_waited_for_and_then_said(
    store: Store, tried: Upload, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(job, "WAIT_FOR_STORE_S", 0.2)
    held, over = threading.Event(), threading.Event()

    def hold() -> None:
        with hold_store(store):
            held.set()
            over.wait(30)

    other = threading.Thread(target=hold)
    other.start()
    held.wait(30)
    busy = step(store, tried, "load")
    assert "another load is writing" in shown(store, busy)
    monkeypatch.setattr(job, "WAIT_FOR_STORE_S", 30)
    threading.Timer(0.5, over.set).start()
    assert step(store, busy, "load").step == "loaded"
    other.join()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs SIGKILL")
def test_a_killed_child_leaves_a_store_that_loads(store: Store, tried: Upload) -> None:
    before = digests(store)
    with hold_store(store):  # The child waits, so that it is killed on its way.
        assert run.start_loading(store, tried).step == "loading"
        child = run._children[tried.token]
        wait_until(lambda: run._is_held(tried))
        child.kill()
        child.wait()
    found = run.seen(store, tried.token)
    assert found and found.step == "tried"
    assert "ended early" in shown(store, found)
    assert digests(store) == before
    assert step(store, found, "load").step == "loaded"
    with store.reader() as con:
        assert_whole(con)
        assert con.execute("select count(*) from installation").fetchall() == [(5,)]
