"""Readers of a store: hardened, never disturbed, on the newest edition at each call."""

import subprocess
import sys
import threading
from pathlib import Path

import duckdb
import pytest

from etl.ledger import open_ledger
from queries.errors import FirmsetError
from queries.readers.edition import read_edition
from queries.store import NoEdition, Store
from tests.builders import build_store, load, write_log


def count(store: Store) -> int:
    with store.reader() as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


def test_a_store_without_an_edition_says_what_to_do(tmp_path: Path) -> None:
    with (
        pytest.raises(FirmsetError, match="load a site's log first"),
        Store(tmp_path).reader(),
    ):
        pass


# Said of a store that was there: "load a log first" would begin a new one in its place.
def test_a_store_whose_folder_was_moved_is_said_to_be_gone(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    assert count(store) == 1
    store.folder.rename(tmp_path / "moved")
    with pytest.raises(FirmsetError, match="folder is gone") as said:
        count(store)
    assert not isinstance(said.value, NoEdition)
    (tmp_path / "moved").rename(store.folder)
    assert count(store) == 1


def test_readers_move_to_the_new_edition_at_their_next_call(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    path = write_log(tmp_path / "more", [{}, {}], site="SITE-2")
    with store.reader() as con:
        load(store, path)
        # Under way: the old edition, undisturbed.
        assert con.execute("select count(*) from installation").fetchall() == [(1,)]
        assert read_edition(con).edition_id == 1
    assert count(store) == 3
    with store.reader() as con, store.reader(1) as pinned:
        assert read_edition(con).edition_id == 2
        assert read_edition(pinned).edition_id == 1


# A result that is not read to its end keeps its connection busy.
def test_the_edition_can_be_asked_before_anything_else(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    with store.reader() as con:
        assert read_edition(con).edition_id == 1
        assert con.sql("select site_code from site").pl().rows() == [("SITE-1",)]


# A second Store shares the first one's database, whose settings are locked by then.
def test_two_stores_of_one_folder_read_side_by_side(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    with store.reader() as con:
        assert count(Store(store.folder)) == 1
        [(zone,)] = con.execute("select current_setting('TimeZone')").fetchall()
    assert zone == "UTC"


def test_the_last_five_editions_are_kept(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    for number in range(2, 8):
        load(store, write_log(tmp_path / "more", [{}], site=f"SITE-{number}"))
    editions = sorted(path.name for path in (store.folder / "editions").iterdir())
    assert editions == [
        *(f"{number:08d}.duckdb" for number in range(3, 8)),
        "current",
    ]
    assert store.current_edition_id() == 7
    assert count(store) == 7


@pytest.mark.parametrize(
    "statement",
    [
        "insert into site values ('X', 'X', 'UTC')",
        "select * from read_csv('/etc/passwd')",
        "copy site to 'out.csv'",
        "attach 'other.duckdb'",
        "set enable_external_access = true",
        "set memory_limit = '100GB'",
    ],
)
def test_a_reader_can_neither_write_nor_leave(tmp_path: Path, statement: str) -> None:
    store = build_store(tmp_path, [{}])
    with store.reader() as con, pytest.raises(duckdb.Error):
        con.execute(statement)


def test_many_threads_read_at_once(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}] * 7)
    found: list[int] = []
    threads = [
        threading.Thread(target=lambda: found.append(count(store))) for _ in range(16)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [7] * 16


def test_another_schema_is_refused_in_words(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    with open_ledger(store) as con:
        con.execute("update schema_version set version = 0")
    with pytest.raises(FirmsetError, match="schema version 0, this firmset reads"):
        load(store, write_log(tmp_path / "more", [{}]))


def test_a_second_load_at_the_same_time_is_refused_in_words(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{}])
    path = write_log(tmp_path / "more", [{}], site="SITE-2")
    with open_ledger(store):
        other = subprocess.run(
            [
                *(sys.executable, "-m", "dashboard.command", "load", str(path)),
                *("--store", str(store.folder), "--wait", "0"),
            ],
            capture_output=True,
            text=True,
            cwd=Path(__file__).parents[2],
            check=False,
        )
    assert other.returncode == 2
    assert "another load is writing to this store" in other.stderr
    assert len(other.stderr.splitlines()) == 1
