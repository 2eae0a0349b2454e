"""What is sent on the page Intake, and how a step is done and looked at."""

import hashlib
import time
from collections.abc import Callable

from dashboard.uploads import job, work
from dashboard.uploads.routes import Writing
from etl.upload import Upload, find_upload, stage_upload
from queries.store import Store
from tests.builders import Row
from tests.dashboard.components import text

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
