"""A full disk ends a load in one line; afterwards the store is whole."""

import errno
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pytest

from etl import intake
from etl.faults import storage_fault
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load, write_log, write_setting_data
from tests.store_state import published

pytestmark = pytest.mark.skipif(os.name == "nt", reason="needs limits of files")

ROOT = Path(__file__).parents[2]
KIB = 1024


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Setting data and four logs of some 600 KiB of write-ahead log each."""
    folder = tmp_path_factory.mktemp("logs")
    write_setting_data(folder)
    for site in range(4):
        rows = [{"note": f"note {site} {number}"} for number in range(2_500)]
        write_log(folder, rows, site=f"SITE-{site}")
    return folder


@pytest.fixture(scope="module")
def undisturbed(logs: Path, tmp_path_factory: pytest.TempPathFactory) -> object:
    store = Store(tmp_path_factory.mktemp("undisturbed") / "store")
    load(store, logs)
    return published(store)


def run(
    store: Store, logs: Path, prepare: Callable[[], None] | None = None
) -> "subprocess.CompletedProcess[str]":
    return run_command(store, "load", str(logs), prepare=prepare)


def run_command(
    store: Store, *arguments: str, prepare: Callable[[], None] | None = None
) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "-m", "dashboard.command", *arguments]
    return subprocess.run(
        [*command, "--store", str(store.folder)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
        preexec_fn=prepare,
    )


def assert_told(done: "subprocess.CompletedProcess[str]") -> int:
    """Check the one line; return how many files it says were kept."""
    assert done.returncode == 1, done.stderr
    [line] = done.stderr.splitlines()
    assert "the disk is full (" in line
    assert "make room, then run the same load again" in line
    assert "; not published" in done.stdout
    return int(line.split(" of 5 files are kept")[0].split()[-1])


def limit_to(size: int) -> Callable[[], None]:
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


# The system refuses to let any file grow beyond a limit: the same kind of error as a
# full disk's, without being root. At the schema, and at the first and a later log.
@pytest.mark.parametrize("limit_kib", [64, 900, 2200])
def test_a_file_that_cannot_grow(
    tmp_path: Path, logs: Path, undisturbed: object, limit_kib: int
) -> None:
    store = Store(tmp_path / "store")
    kept = assert_told(run(store, logs, limit_to(limit_kib * KIB)))
    result = load(store, logs)
    assert sum(receipt.is_new for receipt in result.receipts) == 5 - kept
    assert published(store) == undisturbed


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A folder on a disk of 3 MiB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = shutil.which("mount") and subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(folder)],
        capture_output=True,
        check=False,
    )
    if not mounted or mounted.returncode:
        pytest.skip("cannot mount a small disk here (needs root)")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def resize(folder: Path, size: str) -> None:
    options = ["-o", f"remount,size={size}"]
    subprocess.run(["mount", *options, str(folder)], check=True)


def test_a_full_disk(small_disk: Path, logs: Path, undisturbed: object) -> None:
    store = Store(small_disk / "store")
    kept = assert_told(run(store, logs))
    assert 0 < kept < 5
    resize(small_disk, "100m")
    assert load(store, logs).edition_id == 1
    assert published(store) == undisturbed


# Room for the ledger but not for its copy: readers keep what they had.
def test_a_disk_full_while_publishing(small_disk: Path, tmp_path: Path) -> None:
    resize(small_disk, "8m")
    store = build_store(tmp_path, [{}])
    editions = small_disk / "editions"
    shutil.move(store.folder / "editions", editions)
    (store.folder / "editions").symlink_to(editions)
    before = published(store)
    room = store.ledger_path.stat().st_size // 2
    filler = small_disk / "filler"
    filler.write_bytes(b"\0" * (shutil.disk_usage(small_disk).free - room))
    path = write_log(tmp_path / "more", [{}, {}], site="SITE-2")
    done = run(store, path)
    assert done.returncode == 1
    assert "1 of 1 files are kept" in done.stderr
    assert "the disk is full (No space left on device)" in done.stderr
    assert published(store) == before
    # The half copy does not stay to fill the disk.
    assert not list(editions.glob("*.partial"))
    resize(small_disk, "100m")
    assert load(store, path).edition_id == 2
    assert published(store)["installation"][0] == 3


# The write-ahead log does not fit, or fits, and its edition does not.
@pytest.mark.parametrize("command", [["unload", "2"], ["judge"]])
def test_other_commands_say_so_in_a_line_too(
    tmp_path: Path, command: list[str]
) -> None:
    store = build_store(tmp_path, [{}])
    before = published(store)
    done = run_command(store, *command, prepare=limit_to(KIB // 2))
    assert done.returncode == 2, done.stderr
    [line] = done.stderr.splitlines()
    assert "the disk is full (" in line
    assert "the command was not finished, and readers see the edition before" in line
    assert published(store) == before
    done = run_command(
        store, *command, prepare=limit_to(store.ledger_path.stat().st_size // 2)
    )
    [line] = done.stderr.splitlines()
    assert "the change is kept in the ledger, but readers see the edition" in line
    assert published(store) == before
    again = load(store, tmp_path / "logs" / "setting_data.csv")
    assert again.edition_id == 2


# DuckDB limits its spill to 90 % of the free disk, and speaks of memory when that is
# used up; the error is its own, raised here.
def test_no_room_to_spill_is_a_full_disk(tmp_path: Path) -> None:
    con = duckdb.connect()
    con.execute("set memory_limit = '60MB'")
    con.execute("set threads = 1")
    con.execute("set temp_directory = ?", [str(tmp_path)])
    con.execute("set max_temp_directory_size = '1MB'")
    with pytest.raises(duckdb.OutOfMemoryException) as error:
        con.execute(
            "create temp table filler as select i, i || 'abcdefghijklmnop' as text "
            "from range(5_000_000) as numbers (i)"
        )
    fault = storage_fault(error.value, Store(tmp_path))
    assert fault is not None
    assert fault.startswith("the disk is full")
    con.close()


def test_a_fault_of_a_file_is_none_of_the_disks(tmp_path: Path) -> None:
    store = Store(tmp_path)
    with pytest.raises(duckdb.Error) as error:
        duckdb.sql("select 'x'::integer").fetchall()
    assert storage_fault(error.value, store) is None
    assert storage_fault(PermissionError(13, "denied", "/elsewhere"), store) is None


def test_no_room_for_a_copy_while_a_file_is_read_is_the_disks_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read(*_: object, **__: object) -> None:
        try:
            raise OSError(errno.ENOSPC, "No space left on device")
        except OSError as error:
            raise FirmsetError(f"cannot be read: {error}") from error

    store = build_store(tmp_path, [{}])
    monkeypatch.setattr(intake, "load_log", read)
    result = load(store, write_log(tmp_path / "more", [{}], site="SITE-2"))
    assert result.failures == ()
    assert "0 of 1 files are kept" in str(result.fault)
