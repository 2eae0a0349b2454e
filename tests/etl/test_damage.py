"""Stores that cannot be used as they are: a line that says what to do, or a repair."""

import json
import logging
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import duckdb
import pytest

from dashboard.app import route
from dashboard.command import main
from etl.unload import unload
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load, write_log, write_setting_data
from tests.dashboard.components import text
from tests.store_state import published


def refusal(store: Store, path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """Return the line of a load that is refused with exit 2."""
    assert main(["load", str(path), "--store", str(store.folder)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    [line] = captured.err.splitlines()
    return line


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store: an edition of 1 installation, then one of 3."""
    folder = tmp_path_factory.mktemp("built")
    store = build_store(folder, [{}])
    load(store, write_log(folder / "more", [{}, {}], site="SITE-2"))
    return folder


@pytest.fixture
def two_editions(built: Path, tmp_path: Path) -> Store:
    """A copy of that store, to damage; the second edition's log is in `more`."""
    shutil.copytree(built, tmp_path, dirs_exist_ok=True)
    return Store(tmp_path / "store")


def count(store: Store) -> int:
    with store.reader() as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


# The store's folder.


def test_a_store_that_is_a_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = write_log(tmp_path / "logs", [{}])
    store = Store(tmp_path / "store")
    store.folder.write_text("a file")
    assert "is not a folder; expected --store to name a folder" in refusal(
        store, log, capsys
    )
    assert "is not a folder" in refusal(Store(store.folder / "in"), log, capsys)
    # A reader of such a store finds nothing published.
    with pytest.raises(FirmsetError, match="no edition is published here"):
        count(store)


@pytest.fixture
def read_only(tmp_path: Path) -> Iterator[Callable[[Path], Path]]:
    """Make a folder read-only by a mount: root may write whatever the mode says."""
    mounted: list[Path] = []

    def mount(folder: Path) -> Path:
        target = tmp_path / "read-only"
        target.mkdir()
        for options in (["--bind"], ["-o", "remount,bind,ro"]):
            done = subprocess.run(
                ["mount", *options, str(folder), str(target)],
                capture_output=True,
                check=False,
            )
            if done.returncode:
                pytest.skip("cannot mount a read-only folder here (needs root)")
            mounted[:] = [target]
        return target

    if shutil.which("mount") is None:
        pytest.skip("there is no mount here")
    yield mount
    for folder in mounted:
        subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_read_only_store_is_read_but_not_loaded(
    two_editions: Store,
    tmp_path: Path,
    read_only: Callable[[Path], Path],
    capsys: pytest.CaptureFixture[str],
) -> None:
    store = Store(read_only(two_editions.folder))
    log = write_log(tmp_path / "third", [{}], site="SITE-3")
    assert (
        "cannot be written (Read-only file system); make the folder writable, or name "
        "another with --store"
    ) in refusal(store, log, capsys)
    assert count(store) == 3


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="needs /proc")
def test_a_store_where_no_folder_can_be_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = write_log(tmp_path / "logs", [{}])
    assert "cannot be written" in refusal(Store(Path("/proc/store")), log, capsys)


# The ledger.


def test_a_ledger_that_is_no_database(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = write_log(tmp_path / "logs", [{}])
    store = Store(tmp_path / "store")
    store.folder.mkdir()
    store.ledger_path.write_text("somebody's notes\n" * 1000)
    line = refusal(store, log, capsys)
    assert "is damaged or no ledger" in line
    assert f"move {store.folder} away and load the site logs again" in line
    assert store.ledger_path.read_text().startswith("somebody's notes")


def test_a_database_that_is_no_ledger(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = write_log(tmp_path / "logs", [{}])
    store = Store(tmp_path / "store")
    store.folder.mkdir()
    with duckdb.connect(store.ledger_path) as con:
        con.execute("create table other (i integer)")
    assert "is a database, but not a ledger of firmset" in refusal(store, log, capsys)


@pytest.mark.parametrize("left_frac", [0, 0.001, 0.3])
def test_a_ledger_cut_short_names_the_sound_edition(
    two_editions: Store,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    left_frac: float,
) -> None:
    store = two_editions
    log = write_log(tmp_path / "third", [{}], site="SITE-3")
    size = store.ledger_path.stat().st_size
    os.truncate(store.ledger_path, int(size * left_frac))
    line = refusal(store, log, capsys)
    assert "is damaged" in line
    assert count(store) == 3  # Readers go on.
    # To the letter.
    assert f"copy {store.edition_path(2)} to {store.ledger_path}" in line
    store.ledger_path.unlink()
    shutil.copyfile(store.edition_path(2), store.ledger_path)
    assert load(store, log).edition_id == 3
    assert published(store)["installation"][0] == 4


# Editions and the pointer.

Damage = Callable[[Store], object]


def cut(left_frac: float) -> Damage:
    def damage(store: Store) -> None:
        path = store.edition_path(2)
        os.truncate(path, int(path.stat().st_size * left_frac))

    return damage


DAMAGES: dict[str, Damage] = {
    "zero length": cut(0),
    "only the headers": cut(0.005),
    "half": cut(0.5),
    "all but the end": cut(0.99),
    # In free blocks at its end, where DuckDB misses nothing: not what was published.
    "a little shorter": lambda store: store.pointer_path.write_text(
        f"2\n{store.edition_path(2).stat().st_size + 4096}\n"
    ),
    "missing": lambda store: store.edition_path(2).unlink(),
    "no database": lambda store: store.edition_path(2).write_bytes(b"x" * 900_000),
    "pointer empty": lambda store: store.pointer_path.write_text(""),
    "pointer zeroed": lambda store: store.pointer_path.write_bytes(b"\0" * 10),
    "pointer garbage": lambda store: store.pointer_path.write_bytes(b"\xff\xfe 7"),
    "pointer to nowhere": lambda store: store.pointer_path.write_text("77\n"),
    "pointer missing": lambda store: store.pointer_path.unlink(),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_edition_falls_back_and_the_next_load_publishes(
    two_editions: Store, tmp_path: Path, caplog: pytest.LogCaptureFixture, name: str
) -> None:
    DAMAGES[name](two_editions)
    store = Store(two_editions.folder)
    shown = 2 if name.startswith("pointer") else 1
    with caplog.at_level(logging.WARNING):
        assert (count(store), count(store)) == ({1: 1, 2: 3}[shown],) * 2
    [warning] = [record.getMessage() for record in caplog.records]  # Said once.
    assert f"edition {shown} is shown instead: load any log again" in warning
    assert str(store.folder) in warning
    assert len(warning.splitlines()) == 1

    # A file that is loaded already is enough.
    result = load(store, *(tmp_path / "more").glob("*.csv"))
    assert not result.receipts[0].is_new
    assert result.edition_id is not None
    assert result.edition_id > 2
    assert count(store) == 3
    assert store.warning == ""
    assert published(store)["installation"][0] == 3


def test_the_pages_show_the_warning(two_editions: Store) -> None:
    cut(0)(two_editions)
    body, _, line = route(Store(two_editions.folder), "/sites", "")
    assert line.startswith("Edition 1")
    assert "edition 1 is shown instead" in text(body)


def test_the_terminal_warns_on_stderr(two_editions: Store) -> None:
    cut(0)(two_editions)
    options = ["--store", str(two_editions.folder), "--format", "json"]
    done = subprocess.run(
        [sys.executable, "-m", "dashboard.command", "rates", "--by", "site", *options],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
        check=False,
    )
    assert done.returncode == 0
    [line] = done.stderr.splitlines()
    assert line.startswith("firmset: ")
    assert "edition 1 is shown instead" in line
    assert {row["site"] for row in json.loads(done.stdout)} == {"SITE-1"}


def test_no_edition_that_can_be_read(two_editions: Store) -> None:
    for number in (1, 2):
        os.truncate(two_editions.edition_path(number), 100)
    with pytest.raises(FirmsetError, match="no other can be read: load any log again"):
        count(two_editions)


# Not an answer that the column's statistics give.
ANSWER_SQL = "select count(distinct note) from installation"


# Damage inside a file, which shows only when a query comes to it.
def test_a_damaged_block_is_told_and_then_avoided(
    tmp_path: Path, two_editions: Store
) -> None:
    rows = [{"note": f"{number * 7919 % 10_007}"} for number in range(3_000)]
    log = write_log(tmp_path / "third", rows, site="SITE-3")
    assert load(two_editions, log).edition_id == 3
    path = two_editions.edition_path(3)
    store = Store(two_editions.folder)
    with duckdb.connect(path, read_only=True) as con:
        [(block_id,)] = con.execute(
            "select max(block_id) from pragma_storage_info('installation') "
            "where column_name = 'note' and segment_type = 'VARCHAR'"
        ).fetchall()
    # A block is 262,144 bytes; three headers of 4,096 stand before the first.
    with path.open("r+b") as file:
        file.seek(12_288 + block_id * 262_144 + 200)
        file.write(b"\x55" * 4096)
    told = "is damaged .* delete this file and load any log again"
    with pytest.raises(FirmsetError, match=told), store.reader() as con:
        con.execute(ANSWER_SQL).fetchall()
    with store.reader() as con:  # The next request.
        con.execute(ANSWER_SQL).fetchall()
    assert "edition 2 is shown instead" in store.warning
    path.unlink()
    assert load(store, log).edition_id == 4
    assert published(store)["installation"][0] == 3_003


def test_how_many_editions_stay(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path, [{}])
    for number in range(2, 5):
        log = write_log(tmp_path / "more", [{}], site=f"SITE-{number}")
        options = ["--store", str(store.folder), "--keep-editions", "2"]
        assert main(["load", str(log), *options]) == 0
    assert store.edition_ids() == [3, 4]
    assert count(store) == 4


# Once thirteen stay, for a year of monthly reports, no command takes that back unasked.
def test_whoever_publishes_keeps_as_many_as_before(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])

    def load_more(number: int, *options: str) -> None:
        log = write_log(tmp_path / "more", [{}], site=f"SITE-{number}")
        place = ["--store", str(store.folder)]
        assert main(["load", str(log), *place, *options]) == 0

    for number in range(2, 10):
        load_more(number, "--keep-editions", "7")
    assert store.edition_ids() == [3, 4, 5, 6, 7, 8, 9]
    unload(store, 2)
    load_more(11)
    assert store.edition_ids() == [5, 6, 7, 8, 9, 10, 11]
    # A number that no pointer ever had is none of them.
    shutil.copyfile(store.edition_path(11), store.edition_path(12))
    load_more(12)
    assert store.edition_ids() == [7, 8, 9, 10, 11, 12, 13]
    load_more(13, "--keep-editions", "2")
    assert store.edition_ids() == [13, 14]


def test_keeping_no_edition_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["load", "x", "--keep-editions", "0"])
    assert stop.value.code == 2


# A number whose load was killed before it moved the pointer is not used again: a
# reader that fell back may have that file open.
def test_an_edition_number_is_used_once(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    shutil.copyfile(store.edition_path(1), store.edition_path(2))
    (store.folder / "editions" / "00000009.partial").write_bytes(b"half")
    write_setting_data(tmp_path, [{"setting_torque_nm": 60}])
    assert load(store, tmp_path / "setting_data.csv").edition_id == 3
    names = {path.name for path in (store.folder / "editions").iterdir()}
    assert names == {
        *(f"{number:08d}.duckdb" for number in (1, 2, 3)),
        "current",
    }
