"""A store that takes another's place, under the same edition number."""

import os
import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from dashboard.app import route
from dashboard.kept import read_kept_choices
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import NOW, build_store, load, write_log


@pytest.fixture
def shown(tmp_path: Path) -> Store:
    """Edition 1 of one installation, on site FORMER."""
    return build_store(tmp_path / "shown", sites={"FORMER": [{}]})


def put_in_place(shown: Store, tmp_path: Path) -> None:
    """Put edition 1 of three installations, on site LATTER, where `shown` is."""
    other = build_store(
        tmp_path / "other", sites={"LATTER": [{}] * 3}, now=NOW + timedelta(seconds=1)
    )
    shutil.rmtree(shown.folder)
    shutil.copytree(other.folder, shown.folder)


def count(store: Store, pinned: int | None = None) -> int:
    with store.reader(pinned) as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


@pytest.mark.parametrize("pinned", [None, 1])
def test_the_store_that_is_there_is_shown(
    shown: Store, tmp_path: Path, pinned: int | None
) -> None:
    # Both the current and the pinned connection hold the former file.
    assert (count(shown), count(shown, 1)) == (1, 1)
    put_in_place(shown, tmp_path)
    assert count(shown, pinned) == 3
    assert (count(shown), count(shown, 1)) == (3, 3)


# As `cp -a BACKUP/. STORE/` does it: the files keep their names and their places.
def test_a_backup_copied_over_the_files_is_shown(shown: Store, tmp_path: Path) -> None:
    backup = tmp_path / "backup"
    shutil.copytree(shown.folder, backup)
    load(shown, write_log(tmp_path / "more", [{}], site="SITE-2"))
    load(Store(backup), write_log(tmp_path / "else", [{}] * 5, site="SITE-3"))
    assert count(shown) == 2
    inode = shown.edition_path(2).stat().st_ino
    shutil.copytree(backup, shown.folder, dirs_exist_ok=True)
    assert shown.edition_path(2).stat().st_ino == inode
    assert count(shown) == 6


# DuckDB would hand out the former file under the name of the one that is there.
def test_nobody_is_shown_the_former_store_while_it_is_read(
    shown: Store, tmp_path: Path
) -> None:
    with shown.reader() as con:
        put_in_place(shown, tmp_path)
        for pinned in (None, 1):
            with pytest.raises(FirmsetError, match="took this one's place"):
                count(shown, pinned)
        assert con.execute("select count(*) from installation").fetchall() == [(1,)]
    assert count(shown) == 3


# Backups are made of links too: another name of a file is no other file.
def test_a_second_name_of_the_file_changes_nothing(
    shown: Store, tmp_path: Path
) -> None:
    with shown.reader():
        os.link(shown.edition_path(1), tmp_path / "linked.duckdb")
        assert count(shown) == 1


def test_what_was_kept_of_the_former_store_is_not_shown(
    shown: Store, tmp_path: Path
) -> None:
    assert "FORMER" in str(route(shown, "/intake", "")[0])
    put_in_place(shown, tmp_path)
    after = str(route(shown, "/intake", "")[0])
    assert "LATTER" in after and "FORMER" not in after
    with shown.reader() as con:
        assert [code for code, _ in read_kept_choices(con).sites] == ["LATTER"]


def test_a_store_that_takes_a_damaged_ones_place_is_read(
    shown: Store, tmp_path: Path
) -> None:
    assert count(shown) == 1
    shown._damaged[1] = "a bad block"
    shown._connection = None
    with pytest.raises(FirmsetError, match="a bad block"):
        count(shown)
    put_in_place(shown, tmp_path)
    assert count(shown) == 3
