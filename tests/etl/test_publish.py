"""A killed load leaves ledger and edition whole, and the next one catches up."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from etl import intake
from queries.store import Store
from tests.builders import build_store, load, write_log

ROOT = Path(__file__).parents[2]


def count(store: Store) -> int:
    with store.reader() as con:
        return int(con.execute("select count(*) from installation").fetchall()[0][0])


def test_a_load_killed_before_publishing_is_published_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = build_store(tmp_path, [{}])
    second = write_log(tmp_path / "more", [{}, {}], site="SITE-2")

    def killed(*arguments: object, **options: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(intake, "publish_edition", killed)
        with pytest.raises(KeyboardInterrupt):
            load(store, second)
    assert (store.current_edition_id(), count(store)) == (1, 1)
    # The same file again is nothing new to the ledger, but the edition lacks it.
    assert load(store, second).edition_id == 2
    assert count(store) == 3


# kill -9 in the middle: the delays sweep the load from its start to its end.
@pytest.mark.skipif(os.name == "nt", reason="needs SIGKILL")
def test_kill_minus_nine_leaves_a_whole_store(tmp_path: Path) -> None:
    rows = [{}] * 3_000
    path = write_log(tmp_path / "more", rows, site="SITE-2")
    store = build_store(tmp_path, [{}])
    command = [sys.executable, "-m", "dashboard.command", "load", str(path)]
    for delay_s in (0.4, 0.7, 0.9, 1.1, 1.3, 1.6):
        process = subprocess.Popen(
            [*command, "--store", str(store.folder)],
            stdout=subprocess.DEVNULL,
            cwd=ROOT,
        )
        time.sleep(delay_s)
        process.send_signal(signal.SIGKILL)
        process.wait()
        assert count(Store(store.folder)) in (1, 3_001)
    load(store, path)
    assert count(store) == 3_001
    with store.reader() as con:
        receipts = con.execute("select count(*) from source_file").fetchall()
        tallied = con.execute("select sum(installations)::bigint from tally")
        assert receipts == [(3,)]
        assert tallied.fetchall() == [(3_001,)]
