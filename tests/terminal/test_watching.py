"""`firmset load --watch` as a process: what it prints, and how it ends."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import write_log, write_setting_data

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="needs POSIX signals")


@contextmanager
def watching(
    folder: Path, store: Store, *options: str
) -> Iterator["subprocess.Popen[str]"]:
    command = [sys.executable, "-m", "dashboard.command", "load", "--watch"]
    process = subprocess.Popen(
        [
            *(*command, str(folder), "--store", str(store.folder)),
            *("--settle", "0.2", "--every", "0.1", *options),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def line_of(process: "subprocess.Popen[str]") -> str:
    assert process.stdout is not None
    return process.stdout.readline()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_watch_loads_what_arrives_and_ends_with_0(
    tmp_path: Path, number: signal.Signals
) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    write_setting_data(folder)
    store = Store(tmp_path / "store")
    with watching(folder, store) as process:
        assert line_of(process).startswith("setting_data.csv: 1 row read = 1 loaded")
        write_log(folder, [{}, {"crew_code": ""}])
        assert line_of(process) == (
            "SITE-1_log.csv: 2 rows read = 1 loaded + 0 revised + 0 duplicate "
            "+ 1 rejected\n"
        )
        process.send_signal(number)
        output, errors = process.communicate(timeout=60)
        assert (process.returncode, output) == (0, "")
    assert "edition 2 published" in errors
    assert store.current_edition_id() == 2


# The signal comes while a file is loaded: it is finished and published, the next one
# is not begun.
def test_a_watch_that_is_told_to_end_finishes_its_file(tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    write_setting_data(folder)
    store = Store(tmp_path / "store")
    with watching(folder, store, "--format", "json") as process:
        assert json.loads(line_of(process))["file"] == "setting_data.csv"
        wal = store.ledger_path.with_suffix(".duckdb.wal")
        while wal.exists():
            time.sleep(0.001)
        staging = tmp_path / "staging"
        for site in range(6):
            write_log(staging, [{}] * 2_000, site=f"SITE-{site}")
        for path in sorted(staging.iterdir(), key=lambda path: path.suffix):
            path.rename(folder / path.name)
        while not wal.exists():
            assert process.poll() is None
            time.sleep(0.001)
        process.send_signal(signal.SIGTERM)
        output, _ = process.communicate(timeout=60)
        assert process.returncode == 0
    loaded = [json.loads(line)["file"] for line in output.splitlines()]
    assert 1 <= len(loaded) < 6
    with store.reader() as con:
        published = con.execute("select count(*) from installation").fetchall()
    assert published == [(2_000 * len(loaded),)]


def test_what_cannot_be_watched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_log(tmp_path, [{}])
    assert main(["load", "--watch", str(path)]) == 2
    assert "expected a folder to watch" in capsys.readouterr().err
    assert main(["load", "--watch", str(tmp_path), "--format", "csv"]) == 2
    assert "expected table or json" in capsys.readouterr().err
