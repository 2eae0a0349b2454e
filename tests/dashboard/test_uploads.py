"""A file sent on the page Intake: tried, loaded, refused. Counted by hand beside."""

import hashlib
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from dashboard.app import create_app
from dashboard.terminal.receipts import receipt_row
from dashboard.uploads import job, routes, run, work
from dashboard.uploads.routes import Writing
from etl.intake import IntakeResult, load_paths
from etl.lock import hold_store
from etl.store_maps import maps_of
from etl.upload import Upload, find_upload, stage_upload
from queries.store import Store
from tests.builders import Row, build_store, write_log
from tests.dashboard.components import rows, table, text, text_forms, walk
from tests.store_state import assert_whole

WRITING = Writing("")
OWN = {"Origin": "http://localhost"}
NAME = "SITE-1_log.csv"

# Of these five: R1 is in the store already, as it is; R7 to R9 are new, one of them
# with a torque that cannot be read; R10 has no crew.
SENT: list[Row] = [
    {"record_id": "R1"},
    {"record_id": "R7"},
    {"record_id": "R8"},
    {"record_id": "R9", "setting_torque_nm": "firm"},
    {"record_id": "R10", "crew_code": ""},
]
FATES = {"rows_read": 5, "loaded": 3, "revised": 0, "duplicate": 1, "rejected": 1}


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of two records and a rejected one, and `sent/` with the file of five.

    In the store that file waits as an upload that was tried.
    """
    folder: Path = tmp_path_factory.mktemp("uploads")
    store = build_store(folder, [{}, {}, {"record_id": "LOST", "crew_code": ""}])
    content = write_log(folder / "sent", SENT).read_bytes()
    before = digests(store)
    step(store, staged(store, content), "try")
    assert digests(store) == before
    return folder


@pytest.fixture
def store(base: Path, tmp_path: Path) -> Store:
    shutil.copytree(base / "store", tmp_path / "store")
    return Store(tmp_path / "store")


@pytest.fixture
def tried(store: Store) -> Upload:
    """The upload that waits in the store."""
    (folder,) = (store.folder / "uploads").iterdir()
    found = find_upload(store, folder.name)
    assert found
    return found


@pytest.fixture
def sent(base: Path) -> bytes:
    return (base / "sent" / NAME).read_bytes()


@pytest.fixture
def client(store: Store) -> FlaskClient:
    found: FlaskClient = create_app(store, WRITING).server.test_client()
    return found


def digests(store: Store) -> dict[str, str]:
    """Return the SHA-256 of every file of a store but those of its uploads."""
    return {
        path.relative_to(store.folder).as_posix(): hashlib.sha256(
            path.read_bytes()
        ).hexdigest()
        for path in store.folder.rglob("*")
        if path.is_file() and "uploads" not in path.relative_to(store.folder).parts
    }


def staged(store: Store, content: bytes, name: str = NAME) -> Upload:
    return stage_upload(store, [content], name)


def step(store: Store, upload: Upload, which: str) -> Upload:
    """Do a step in this process: what the child of the server does."""
    assert job.main([str(store.folder), upload.token, which]) == 0
    found = find_upload(store, upload.token)
    assert found
    return found


def shown(store: Store, upload: Upload) -> str:
    return text(work.work(store, WRITING, upload.token, ""))


def wait_until(is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + 60
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.05)


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
    assert receipt["remarks"] == ["site map SITE-1_log.toml: chosen by hand"]


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


@pytest.mark.parametrize(
    ("headers", "words"),
    [
        ({}, "sent from no page"),
        ({"Origin": "http://elsewhere.example"}, "sent from http://elsewhere.example"),
        ({"Origin": "null"}, "sent from null"),
        ({"Origin": "http://localhost.elsewhere.example"}, "sent from"),
        (OWN | {"Sec-Fetch-Site": "cross-site"}, "Another site's page"),
        # A foreign name that leads to this computer: its pages are of that origin.
        (
            {"Origin": "http://rebound.example", "Host": "rebound.example"},
            "does not know itself as rebound.example",
        ),
    ],
)
@pytest.mark.parametrize("where", ["/intake/uploads", "/intake/maps"])
def test_nothing_from_elsewhere_is_taken(
    client: FlaskClient, store: Store, where: str, headers: dict[str, str], words: str
) -> None:
    before = sorted(store.folder.rglob("*"))
    answer = client.post(f"{where}?name=a.csv", data=b"x", headers=headers)
    assert answer.status_code == 403
    assert words in answer.get_json()["problems"][0]
    assert sorted(store.folder.rglob("*")) == before


def test_a_server_that_was_not_started_for_it_takes_nothing_and_says_so(
    store: Store, sent: bytes, tried: Upload
) -> None:
    client = create_app(store).server.test_client()
    answer = client.post(f"/intake/uploads?name={NAME}", data=sent, headers=OWN)
    assert answer.status_code == 403
    off = Writing("it was started with --read-only")
    page = work.work(store, off, "", "")
    assert "takes no files: it was started with --read-only" in text(page)
    assert not [part for part in walk(page) if hasattr(part, "data-file")]
    # Not by the callback behind the button either.
    work.loaded(store, off, tried.token)
    assert find_upload(store, tried.token) == tried


def test_too_large_is_said_before_and_while_it_is_read(
    client: FlaskClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    # One waits there already: `tried`.
    monkeypatch.setattr(routes, "MOST_BYTES", 10)
    monkeypatch.setattr("etl.upload.MOST_BYTES", 10)
    answer = client.post("/intake/uploads?name=a.csv", data=b"x" * 11, headers=OWN)
    assert answer.status_code == 413
    monkeypatch.setattr(routes, "MOST_BYTES", 10**9)
    answer = client.post("/intake/uploads?name=a.csv", data=b"x" * 11, headers=OWN)
    assert answer.status_code == 422
    assert "a.csv: is over" in answer.get_json()["problems"][0]
    assert len(list((store.folder / "uploads").iterdir())) == 1


def test_an_upload_that_is_not_there_is_said(store: Store) -> None:
    assert "No such upload" in text(work.work(store, WRITING, "0" * 32, ""))
    assert "No such upload" in text(work.work(store, WRITING, "../maps", ""))


def test_running_steps_are_bounded(
    store: Store, tried: Upload, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run, "MOST_RUNNING", 0)
    said: Any = work.loaded(store, WRITING, tried.token)
    assert "try again in a moment" in text(said[0])
    assert find_upload(store, tried.token) == tried


# Its outcome is written before it ends: who is quick asks for the next step meanwhile.
@pytest.mark.parametrize(("lasts_s", "ended"), [(0.5, 0), (60, -signal.SIGKILL)])
def test_a_step_waits_for_the_end_of_the_one_before(
    store: Store,
    tried: Upload,
    monkeypatch: pytest.MonkeyPatch,
    lasts_s: float,
    ended: int,
) -> None:
    former = subprocess.Popen(
        [sys.executable, "-c", f"import time; time.sleep({lasts_s})"]
    )
    monkeypatch.setitem(run._children, tried.token, former)
    monkeypatch.setattr(run, "MOST_RUNNING", 1)
    monkeypatch.setattr(run, "ENDING_S", 2)
    work.loaded(store, WRITING, tried.token)
    assert former.returncode == ended
    run._children[tried.token].wait()
    loaded = run.seen(store, tried.token)
    assert loaded is not None
    assert loaded.step == "loaded"


def test_a_load_that_the_disk_ends_is_not_said_to_be_done(
    store: Store, tried: Upload, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ended(*args: Any, **options: Any) -> IntakeResult:
        return replace(load_paths(*args, **options), fault="the disk is full")

    monkeypatch.setattr(job, "load_paths", ended)
    assert step(store, tried, "load").step == "tried"
    assert "the disk is full" in shown(store, tried)
