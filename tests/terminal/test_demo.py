"""`firmset demo` builds its own store, and deletes nobody's."""

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from dashboard.command import main
from dashboard.terminal import serving
from etl.intake import load_paths
from etl.lock import LOCK_NAME, hold_store
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load, write_log

DEMO = ("demo", "--no-serve", "--installations", "1000")


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """A store of somebody's own, with two receipts."""
    return build_store(tmp_path, [{}])


def run(store: Store, *arguments: str) -> int:
    return main([*arguments, "--store", str(store.folder)])


def test_a_demo_never_replaces_another_store(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(store, *DEMO) == 2
    assert "is not a demo store" in capsys.readouterr().err
    assert store.ledger_path.exists()


@pytest.mark.parametrize(("receipts", "has_map"), [(1, False), (2, True)])
def test_a_demo_does_not_delete_what_was_loaded_into_it(
    store: Store, capsys: pytest.CaptureFixture[str], receipts: int, *, has_map: bool
) -> None:
    """The store has two receipts: one more than this demo had, or a map sent to it."""
    mark = f"installations 1000, seed 1, schema 1\nreceipts {receipts}\n"
    (store.folder / serving.DEMO_MARK).write_text(mark, "utf-8")
    if has_map:
        (store.folder / "maps").mkdir()
        (store.folder / "maps" / "own.toml").write_text("", "utf-8")
    assert run(store, *DEMO) == 2
    assert "of your own were loaded into this demo" in capsys.readouterr().err
    assert store.ledger_path.exists()


@pytest.fixture
def unfinished(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    """A demo that was interrupted when the first of its files was loaded."""

    def interrupted(store: Store, paths: Iterable[Path], **options: object) -> None:
        logs, _ = paths
        load_paths(store, [logs / "setting_data.csv"])
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(serving, "load_paths", interrupted)
        store = Store(tmp_path / "demo")
        assert run(store, *DEMO) == 130
    return store


class Begun(Exception):  # noqa: N818
    """The demo's folder was cleared, and its logs come to be loaded."""


def begin_again(store: Store, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Call the demo anew up to its load; return what was in the folder by then.

    That a demo is built whole is shown elsewhere.
    """

    def begun(*_: object, **__: object) -> None:
        raise Begun

    monkeypatch.setattr(serving, "load_paths", begun)
    with pytest.raises(Begun):
        run(store, *DEMO)
    return sorted(path.name for path in store.folder.iterdir())


def is_locked(store: Store) -> bool:
    """Say whether another load is refused now: a thread stands for its process."""

    def take() -> bool:
        try:
            with hold_store(store):
                return False
        except FirmsetError:
            return True

    with ThreadPoolExecutor(1) as other:
        return other.submit(take).result()


# A load that began meanwhile would lose its ledger, or hold a lock of its own.
def test_a_demo_holds_the_one_lock_until_it_is_built(
    unfinished: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    lock = (unfinished.folder / LOCK_NAME).stat().st_ino
    held: list[bool] = []
    write_logs = serving.write_logs

    def watched(*given: Any) -> None:
        held.append(is_locked(unfinished))
        write_logs(*given)

    monkeypatch.setattr(serving, "write_logs", watched)
    assert LOCK_NAME in begin_again(unfinished, monkeypatch)
    assert (held, is_locked(unfinished)) == ([True], False)
    assert (unfinished.folder / LOCK_NAME).stat().st_ino == lock


def test_a_demo_under_a_load_deletes_nothing(
    unfinished: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    with ThreadPoolExecutor(1) as other, hold_store(unfinished):
        assert other.submit(run, unfinished, *DEMO).result() == 2
    assert "another load is writing to this store" in capsys.readouterr().err
    assert unfinished.ledger_path.exists()


# Ctrl+C while the demo is built must not make the next try refuse the folder.
def test_an_interrupted_demo_is_built_anew(
    unfinished: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert unfinished.ledger_path.exists()
    assert unfinished.ledger_path.name not in begin_again(unfinished, monkeypatch)


# As left by a kill while DuckDB made the file.
def test_a_demo_killed_before_it_had_a_schema_is_built_anew(
    unfinished: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    for path in (unfinished.folder / "editions").iterdir():
        path.unlink()
    unfinished.ledger_path.write_bytes(b"")
    assert unfinished.ledger_path.name not in begin_again(unfinished, monkeypatch)


def test_what_was_loaded_into_an_interrupted_demo_is_not_deleted(
    unfinished: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    load(unfinished, write_log(tmp_path / "own", [{}]))
    assert run(unfinished, *DEMO) == 2
    assert "of your own were loaded into this demo" in capsys.readouterr().err
    with unfinished.reader() as con:
        found = con.execute("select file_name from source_file order by 1").fetchall()
    assert found == [("SITE-1_log.csv",), ("setting_data.csv",)]


# Whose it is, nobody can tell from it.
def test_a_damaged_ledger_of_an_interrupted_demo_is_not_deleted(
    unfinished: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    unfinished.ledger_path.write_bytes(b"no database " * 2_000)
    assert run(unfinished, *DEMO) == 2
    assert "of your own were loaded into this demo" in capsys.readouterr().err
    assert unfinished.ledger_path.exists()
