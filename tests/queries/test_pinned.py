"""Editions that readers pinned: theirs and no other, hardened, few at a time."""

import shutil
from pathlib import Path

import duckdb
import pytest

from queries.edition_file import DamagedEdition
from queries.pinned import MOST_OPEN, EditionNotKept
from queries.store import Store
from tests.builders import build_store, load, write_log


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Editions 1 to 4, of one installation each more."""
    folder = tmp_path_factory.mktemp("pinned")
    store = build_store(folder, [{}])
    for number in range(2, 5):
        load(store, write_log(folder / "more", [{}], site=f"SITE-{number}"))
    return store


@pytest.fixture
def copied(store: Store, tmp_path: Path) -> Store:
    """The same store, to be harmed."""
    shutil.copytree(store.folder, tmp_path / "copy")
    return Store(tmp_path / "copy")


def count(store: Store, pinned: int | None) -> int:
    with store.reader(pinned) as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


def test_a_pinned_edition_answers_with_its_own_figures(store: Store) -> None:
    # As many installations as logs were loaded until then.
    assert [count(store, number) for number in (1, 2, 3, 4, None)] == [1, 2, 3, 4, 4]


def test_few_stay_open_and_the_last_used_first(store: Store) -> None:
    for number in (1, 2, 1, 3):
        count(store, number)
    assert len(store._pinned) == MOST_OPEN
    assert list(store._pinned._open) == [1, 3]


def test_one_that_is_let_go_answers_to_the_end(store: Store) -> None:
    with store.reader(1) as con:
        for number in (2, 3, 2):
            count(store, number)
        assert con.execute("select count(*) from installation").fetchall() == [(1,)]


# Each open edition may take a reader's memory limit.
def test_the_current_one_is_not_opened_again(copied: Store) -> None:
    with copied.reader(), copied.reader(4) as con:
        assert con.execute("select count(*) from installation").fetchall() == [(4,)]
    assert len(copied._pinned) == 0


@pytest.mark.parametrize(
    "statement", ["delete from site", "set enable_external_access = true"]
)
def test_a_pinned_edition_is_hardened(store: Store, statement: str) -> None:
    with store.reader(1) as con, pytest.raises(duckdb.Error):
        con.execute(statement)


def test_an_edition_to_come_is_not_there(store: Store) -> None:
    with pytest.raises(EditionNotKept, match="the newest is 4"), store.reader(99):
        pass


def test_a_removed_edition_is_said_to_be_even_if_it_was_open(copied: Store) -> None:
    assert count(copied, 1) == 1
    copied.edition_path(1).unlink()
    with (
        pytest.raises(EditionNotKept, match=r"no longer kept.*: 2, 3, 4$"),
        copied.reader(1),
    ):
        pass
    assert len(copied._pinned) == 0
    assert count(copied, None) == 4


def test_a_damaged_pinned_edition_is_said_to_be(copied: Store) -> None:
    copied.edition_path(1).write_bytes(b"no database")
    with pytest.raises(DamagedEdition, match="cannot be opened"), copied.reader(1):
        pass
    assert count(copied, None) == 4
