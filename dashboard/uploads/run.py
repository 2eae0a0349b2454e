"""Start the process of an upload's next step, and see how far it is."""

import os
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from etl.lock import hold_store
from etl.upload import RUNNING, Upload, find_upload, save_upload
from queries.errors import FirmsetError
from queries.store import Store

MOST_RUNNING = 2
LONGEST_RUN = timedelta(minutes=30)
ENDING_S = 10

_children: dict[str, "subprocess.Popen[bytes]"] = {}
_starting = threading.Lock()


def start_trying(store: Store, upload: Upload, map_sha256: str | None = None) -> Upload:
    """Try an upload with the map of this SHA-256, or with the one that fits."""
    with _starting:
        current = _seen(store, upload.token)
        if current is None or current.step in (*RUNNING, "loaded"):
            return current or upload
        _await_end(upload.token)
        _require_room()
        changed = save_upload(
            current, step="trying", started_at=_now(), map_sha256=map_sha256, outcome={}
        )
        _start(store, changed, "try")
        return changed


def start_loading(store: Store, upload: Upload) -> Upload:
    """Load an upload of which something could be read; else nothing happens."""
    with _starting:
        current = _seen(store, upload.token)
        if current is None or not may_load(current):
            return current or upload
        _await_end(upload.token)
        _require_room()
        changed = save_upload(current, step="loading", started_at=_now())
        _start(store, changed, "load")
        return changed


def may_load(upload: Upload) -> bool:
    """Say whether an upload was tried, and there is something to load."""
    return upload.step == "tried" and may_be_kept(upload.outcome)


def may_be_kept(outcome: dict[str, Any]) -> bool:
    """Say whether a file, or sheets of it, came through, and the disk held."""
    return bool(outcome.get("receipts")) and not outcome.get("is_cut_off")


def seen(store: Store, token: str) -> Upload | None:
    """Return an upload as it is now; a step whose process ended early is ended.

    Not while a step is being started: its process is not there yet.
    """
    with _starting:
        return _seen(store, token)


def _seen(store: Store, token: str) -> Upload | None:
    upload = find_upload(store, token)
    if upload is None or upload.step not in RUNNING or _is_running(upload):
        return upload
    # It may have written its last words in between.
    upload = find_upload(store, token)
    if upload is None or upload.step not in RUNNING:
        return upload
    words = (
        f"{upload.name}: the process that was {upload.step} it ended early; a load is "
        "kept whole or not at all, so send it once more: what is there already counts "
        "as duplicate"
    )
    if upload.step == "loading":
        outcome = upload.outcome | {"load_failure": words}
        return save_upload(upload, step="tried", outcome=outcome)
    return save_upload(upload, step="tried", outcome={"failures": [words]})


def _await_end(token: str) -> None:
    """Wait for the process of an upload's step before, whose last words are written.

    It ends in an instant; one that does not is ended.
    """
    former = _children.pop(token, None)
    if former is None:
        return
    try:
        former.wait(ENDING_S)
    except subprocess.TimeoutExpired:
        former.kill()
        former.wait()


def _require_room() -> None:
    running = [token for token, child in _children.items() if child.poll() is None]
    if len(running) >= MOST_RUNNING:
        raise FirmsetError(
            f"{MOST_RUNNING} files are being tried or loaded; try again in a moment"
        )
    for token in set(_children) - set(running):
        del _children[token]


def _start(store: Store, upload: Upload, step: str) -> None:
    command = [sys.executable, "-P", "-m", "dashboard.uploads.job"]
    _children[upload.token] = subprocess.Popen(
        [*command, str(store.folder.absolute()), upload.token, step],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        # -P keeps the working folder out; the house is found installed or not.
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
    )


def _is_running(upload: Upload) -> bool:
    child = _children.get(upload.token)
    if child is None:
        return _is_held(upload)  # Another server's, or one's before a restart.
    if child.poll() is not None:
        return False
    if datetime.now(UTC) - datetime.fromisoformat(upload.started_at) > LONGEST_RUN:
        child.kill()
        child.wait()
        return False
    return True


def _is_held(upload: Upload) -> bool:
    try:
        with hold_store(Store(upload.folder)):
            return False
    except FirmsetError:
        return True


def _now() -> str:
    return datetime.now(UTC).isoformat()
