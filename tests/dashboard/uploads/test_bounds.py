"""What the page Intake takes from nobody, and what bounds an upload's steps."""

import signal
import subprocess
import sys
from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient

from dashboard.app import create_app
from dashboard.uploads import job, routes, run, work
from dashboard.uploads.routes import Writing
from etl.intake import IntakeResult, load_paths
from etl.upload import Upload, find_upload
from queries.store import Store
from tests.dashboard.components import text, walk
from tests.dashboard.uploads.sending import NAME, OWN, WRITING, shown, step


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


@pytest.mark.parametrize("where", ["/intake/uploads", "/intake/maps"])
def test_no_new_store_is_begun_where_one_was(
    client: FlaskClient, store: Store, sent: bytes, where: str
) -> None:
    store.folder.rename(store.folder.with_name("moved"))
    answer = client.post(f"{where}?name={NAME}", data=sent, headers=OWN)
    assert answer.status_code == 403
    assert "the store's folder is gone" in answer.get_json()["problems"][0]
    assert not store.folder.exists()


# Who is told to try again sends it again: the first would wait there for an hour.
def test_a_file_that_is_refused_for_want_of_room_does_not_stay(
    client: FlaskClient, store: Store, sent: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = sorted(store.folder.rglob("*"))
    monkeypatch.setattr(run, "MOST_RUNNING", 0)
    answer = client.post(f"/intake/uploads?name={NAME}", data=sent, headers=OWN)
    assert answer.status_code == 422
    assert "try again in a moment" in answer.get_json()["problems"][0]
    assert sorted(store.folder.rglob("*")) == before


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
