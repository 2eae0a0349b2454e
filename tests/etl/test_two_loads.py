"""Two loads at once, and readers while a load runs, with processes of their own."""

import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from dashboard.app import create_app
from etl import intake
from etl.lock import LOCK_NAME, hold_store
from etl.progress import LoadProgress
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load, write_log

ROOT = Path(__file__).parents[2]


def start(store: Store, path: Path, *options: str) -> "subprocess.Popen[str]":
    command = [sys.executable, "-m", "dashboard.command", "load", str(path)]
    return subprocess.Popen(
        [*command, "--store", str(store.folder), *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )


def waiting_line(process: "subprocess.Popen[str]") -> str:
    assert process.stderr is not None
    return process.stderr.readline()


def test_the_second_load_waits_and_says_so_once(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    path = write_log(tmp_path / "more", [{}], site="SITE-2")
    with hold_store(store):
        process = start(store, path)
        assert waiting_line(process) == (
            f"waiting for another load on {store.folder} to end, up to 60 s ...\n"
        )
        time.sleep(0.5)
        assert process.poll() is None
    output, errors = process.communicate()
    assert (process.returncode, errors) == (0, "")
    assert "edition 2 published" in output


def test_a_load_that_waited_in_vain_is_exit_2(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    path = write_log(tmp_path / "more", [{}], site="SITE-2")
    with hold_store(store):
        process = start(store, path, "--wait", "0.3")
        output, errors = process.communicate()
    assert (process.returncode, output) == (2, "")
    waited, refused = errors.splitlines()
    assert "up to 0.3 s" in waited
    assert refused.startswith(f"firmset: {store.folder}: another load is writing")


def test_a_killed_waiting_load_leaves_nothing(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    path = write_log(tmp_path / "more", [{}], site="SITE-2")
    before = files(store)
    with hold_store(store):
        process = start(store, path)
        waiting_line(process)
        process.send_signal(signal.SIGKILL)
        process.communicate()
        assert files(store) == before
    assert load(store, path).edition_id == 2


def files(store: Store) -> dict[str, bytes]:
    return {
        path.name: path.read_bytes()
        for path in store.folder.rglob("*")
        if path.is_file()
    }


# A second thread of the same process, as an upload would be.
def test_threads_exclude_each_other(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    found: list[str] = []

    def second() -> None:
        try:
            with hold_store(store):
                found.append("held")
        except FirmsetError as error:
            found.append(str(error))

    with hold_store(store), hold_store(store):  # Its own thread may, again.
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
    assert len(found) == 1
    assert "another load is writing" in found[0]


# The ledger is closed while it is copied: only the lock keeps another load out.
def test_the_store_is_held_until_the_edition_is_published(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path, [{}])
    path = write_log(tmp_path / "more", [{}], site="SITE-2")
    publish = intake.publish_edition
    refused: list[int | None] = []

    def observed(*arguments: object, **options: object) -> None:
        process = start(store, path, "--wait", "0")
        process.communicate()
        refused.append(process.returncode)
        publish(*arguments, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(intake, "publish_edition", observed)
    load(store, path)
    assert refused == [2]


def test_a_stop_ends_the_wait(tmp_path: Path) -> None:
    class Stopped(LoadProgress):
        def is_stopped(self) -> bool:
            return True

    store = build_store(tmp_path, [{}])
    paused: list[float] = []
    failed: list[FirmsetError] = []

    def second() -> None:
        try:
            with hold_store(store, 60, Stopped(), paused.append):
                pass
        except FirmsetError as error:
            failed.append(error)

    with hold_store(store):
        thread = threading.Thread(target=second)
        thread.start()
        thread.join()
    assert (len(failed), paused) == (1, [])


def test_a_reader_is_undisturbed_and_the_pages_move_on(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    rows = [{} for _ in range(2_000)]
    path = write_log(tmp_path / "more", rows, site="SITE-2")

    client = create_app(store).server.test_client()

    def edition_shown() -> str:
        """Ask for a page as the browser does."""
        names = {"page": "children", "navigation": "children", "edition": "children"}
        answer = client.post(
            "/_dash-update-component",
            json={
                "output": "..page.children...navigation.children...edition.children..",
                "outputs": [{"id": k, "property": v} for k, v in names.items()],
                "inputs": [
                    {"id": "address", "property": "pathname", "value": "/sites"},
                    {"id": "address", "property": "search", "value": ""},
                ],
                "changedPropIds": ["address.pathname"],
            },
        )
        line: str = answer.json["response"]["edition"]["children"]
        return line.split(",")[0]

    with store.reader() as con:
        process = start(store, path)
        while not store.ledger_path.with_suffix(".duckdb.wal").exists():
            assert process.poll() is None  # It has the ledger open, and writes.
            time.sleep(0.001)
        assert edition_shown() == "Edition 1"
        assert con.execute("select count(*) from installation").fetchall() == [(1,)]
        process.communicate()
        assert process.returncode == 0
        # Under way: what it began with. The next request: the new edition.
        assert con.execute("select count(*) from installation").fetchall() == [(1,)]
    assert edition_shown() == "Edition 2"
    assert (store.folder / LOCK_NAME).read_bytes() == b""
