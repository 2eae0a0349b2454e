"""An edition that goes is brought up to date for the next, and never under a reader."""

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etl import spare_edition
from etl.intake import load_paths
from etl.spare_edition import take_spare
from queries import edition_file
from queries.edition_file import DamagedEdition, open_edition
from queries.store import Store
from tests.builders import NOW, build_store, write_log

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/fd").is_dir(), reason="needs /proc: whole copies elsewhere"
)

COUNT_SQL = "select count(*) from installation"
READER = """
import sys
from pathlib import Path
from queries.store import Store

with Store(Path(sys.argv[1])).reader(pinned=1) as con:
    print("open", flush=True)
    sys.stdin.readline()
    print(con.execute("select count(*) from installation").fetchall()[0][0])
"""


@pytest.fixture(scope="module")
def two_editions(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A store that keeps two editions and has them; edition N has N rows."""
    folder = tmp_path_factory.mktemp("two")
    store = build_store(folder, [{}])
    publish_another(store, folder, 2)
    return store


@pytest.fixture
def store(two_editions: Store, tmp_path: Path) -> Store:
    """A copy of it, to be changed."""
    shutil.copytree(two_editions.folder, tmp_path / "copy")
    return Store(tmp_path / "copy")


def publish_another(store: Store, folder: Path, number: int = 3) -> None:
    logs = write_log(folder / f"more{number}", [{}], site=f"SITE-{number}")
    result = load_paths(store, [logs], now=NOW, keep_editions=2)
    assert result.edition_id == number
    assert store.edition_ids() == [number - 1, number]


def inode(store: Store, edition_id: int) -> int:
    return store.edition_path(edition_id).stat().st_ino


def rows(path: Path) -> int:
    with duckdb.connect(path, read_only=True) as con:
        return int(con.execute(COUNT_SQL).fetchall()[0][0])


def test_the_oldest_edition_becomes_the_newest(store: Store, tmp_path: Path) -> None:
    oldest, kept = inode(store, 1), inode(store, 2)
    publish_another(store, tmp_path)
    assert (inode(store, 3), inode(store, 2)) == (oldest, kept)
    assert store.edition_path(3).read_bytes() == store.ledger_path.read_bytes()
    assert (rows(store.edition_path(2)), rows(store.edition_path(3))) == (2, 3)


def test_an_edition_open_in_another_process_stays_as_it_is(
    store: Store, tmp_path: Path
) -> None:
    held = inode(store, 1)
    reader = subprocess.Popen(
        [sys.executable, "-c", READER, str(store.folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    assert reader.stdout is not None
    assert reader.stdout.readline() == "open\n"
    publish_another(store, tmp_path)
    assert reader.communicate("\n")[0] == "1\n"
    assert inode(store, 3) != held


def test_an_edition_open_in_this_process_keeps_its_lock(
    store: Store, tmp_path: Path
) -> None:
    """DuckDB's lock goes as soon as this process closes the file a second time."""
    path = store.edition_path(1)
    with store.reader(pinned=1):
        assert not take_spare(path, store.ledger_path, tmp_path / "target")
        other = subprocess.run(
            [sys.executable, "-c", f"import duckdb; duckdb.connect({str(path)!r})"],
            capture_output=True,
            text=True,
            check=False,
        )
    assert "Could not set lock" in other.stderr


@pytest.mark.parametrize("make_link", [os.link, os.symlink])
def test_an_edition_with_a_second_name_stays_as_it_is(
    store: Store, tmp_path: Path, make_link: Callable[[Path, Path], None]
) -> None:
    path, backup = store.edition_path(1), tmp_path / "backup.duckdb"
    if make_link is os.link:
        os.link(path, backup)
    else:
        path.rename(backup)
        path.symlink_to(backup)
    publish_another(store, tmp_path)
    assert (rows(backup), rows(store.edition_path(3))) == (1, 3)


def test_the_pointed_edition_is_not_taken(store: Store, tmp_path: Path) -> None:
    """As where somebody set the pointer back to the oldest edition."""
    held = inode(store, 1)
    store.pointer_path.write_text("1\n", "ascii")
    publish_another(store, tmp_path)
    assert inode(store, 3) != held


def test_who_opened_an_edition_that_was_taken_is_told(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reader may have opened the file and not locked it yet when a load takes it."""
    path = store.edition_path(1)
    connect = duckdb.connect

    def taken_meanwhile(*arguments: object, **options: object) -> object:
        path.rename(path.with_suffix(".partial"))
        return connect(path.with_suffix(".partial"), read_only=True)

    monkeypatch.setattr(edition_file.duckdb, "connect", taken_meanwhile)
    with pytest.raises(DamagedEdition, match="no longer kept"):
        open_edition(path)


def test_the_old_name_is_gone_from_the_disk_before_a_byte_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a power cut could leave a mixture under it."""
    spare, source, target = (tmp_path / name for name in ("spare", "source", "target"))
    spare.write_bytes(b"old")
    source.write_bytes(b"new contents")
    done = []
    forced, pwrite, truncate = spare_edition.force_to_disk, os.pwrite, os.ftruncate

    def forcing(path: Path) -> None:
        assert not spare.exists()
        forced(path)
        done.append(path)

    def writing(*arguments: Any) -> int:
        done.append("written")
        return pwrite(*arguments)

    def cutting(*arguments: Any) -> None:
        done.append("cut")
        truncate(*arguments)

    monkeypatch.setattr(spare_edition, "force_to_disk", forcing)
    monkeypatch.setattr(spare_edition.os, "pwrite", writing)
    monkeypatch.setattr(spare_edition.os, "ftruncate", cutting)
    assert take_spare(spare, source, target)
    assert done == [tmp_path, "cut", "written"]


def at_most_three(descriptor: int, content: bytes, start: int) -> int:
    """Write as a system may: less than was asked."""
    os.lseek(descriptor, start, os.SEEK_SET)
    return os.write(descriptor, content[:3])


def five_at_most(descriptor: int, count: int, start: int) -> bytes:
    """Read as a system may."""
    os.lseek(descriptor, start, os.SEEK_SET)
    return os.read(descriptor, min(count, 5))


@given(st.binary(max_size=40), st.binary(max_size=40))
def test_any_file_becomes_any_other(
    tmp_path_factory: pytest.TempPathFactory, old: bytes, new: bytes
) -> None:
    folder = tmp_path_factory.mktemp("files")
    spare, source, target = (folder / name for name in ("spare", "source", "target"))
    spare.write_bytes(old)
    source.write_bytes(new)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(spare_edition, "PIECE_BYTES", 8)
        patch.setattr(spare_edition, "WORKERS", 1)
        patch.setattr(spare_edition.os, "pwrite", at_most_three)
        patch.setattr(spare_edition.os, "pread", five_at_most)
        assert take_spare(spare, source, target)
    assert target.read_bytes() == new
    assert not spare.exists()


@pytest.mark.parametrize("call", ["pread", "pwrite"])
def test_a_disk_that_fails_leaves_the_editions_and_is_said(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    def failing(*arguments: Any) -> bytes:
        if call == "pread":
            return b""  # The end, where there should be more.
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    logs = write_log(tmp_path / "more", [{}], site="SITE-3")
    with monkeypatch.context() as patch:
        patch.setattr(spare_edition.os, call, failing)
        result = load_paths(store, [logs], now=NOW, keep_editions=2)
    assert result.fault is not None
    assert "00000003.partial cannot be written" in result.fault
    assert (store.current_edition_id(), store.edition_ids()) == (2, [2])
    assert load_paths(store, [logs], now=NOW, keep_editions=2).edition_id == 3
    assert rows(store.edition_path(3)) == 3
