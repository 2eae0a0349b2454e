"""A store in which a file waits to be loaded, and that file."""

import shutil
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from dashboard.app import create_app
from etl.upload import Upload, find_upload
from queries.store import Store
from tests.builders import build_store, write_log
from tests.dashboard.uploads.sending import NAME, SENT, WRITING, digests, staged, step


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
