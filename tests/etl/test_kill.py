"""kill -9 at any moment of a load leaves a whole store, and the next load ends it.

FIRMSET_KILL_ROUNDS sets how many loads are killed; the moments are seeded.
"""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import duckdb
import pytest

from etl.ledger import open_ledger
from etl.publish import KEPT_EDITIONS, publish_edition, seal_edition
from queries.store import Store
from tests.builders import NOW, build_store, load, write_log, write_setting_data
from tests.store_state import assert_whole, contents, published

ROOT = Path(__file__).parents[2]
ROUNDS = int(os.environ.get("FIRMSET_KILL_ROUNDS", "3"))

pytestmark = pytest.mark.skipif(os.name == "nt", reason="needs SIGKILL")

# What a round waits for before its kill: nothing, or a trace of a phase in the store.
PHASES = (None, "ledger.duckdb.wal", "editions/*.partial")


@dataclass(frozen=True)
class Prepared:
    """A store and a folder to load into it, with what an undisturbed load makes."""

    base: Path
    folder: Path
    before: dict[str, tuple[int, int]]
    after: dict[str, tuple[int, int]]
    sha256s: tuple[str, ...]
    duration_s: float


def start(store: Store, folder: Path) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", "dashboard.command", "load", str(folder)]
    return subprocess.Popen(
        [*command, "--store", str(store.folder), "--format", "json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
    )


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """A load of everything that changes a ledger in its own way.

    The store has as many editions as it keeps: its oldest becomes the next one.
    """
    base = tmp_path_factory.mktemp("base")
    rows = [{"setting_torque_nm": str(50 + number % 20)} for number in range(800)]
    store = build_store(base, rows)
    for _ in range(2, KEPT_EDITIONS + 1):
        with open_ledger(store) as con:
            edition_id = seal_edition(con, store, NOW, reason="load")
        publish_edition(store, edition_id)
    before = published(store)
    folder = base / "more"
    folder.mkdir()
    # Judged again: the band was 49.5 to 60.5 Nm.
    write_setting_data(folder, [{"torque_low_nm": 54, "torque_high_nm": 56}])
    # Revisions only: not one record more.
    revised = [{**row, "revision": "1", "note": "again"} for row in rows]
    write_log(folder, revised, site="SITE-1", name="revised")
    for site in ("SITE-2", "SITE-3"):
        unfit = [{"crew_code": ""}, {"hole_depth_mm": "deep"}, {"record_id": "R1"}]
        write_log(folder, [*rows, *unfit], site=site)

    target = Store(base / "undisturbed")
    shutil.copytree(store.folder, target.folder)
    began = time.monotonic()
    done = start(target, folder)
    done.communicate()
    duration_s = time.monotonic() - began
    assert done.returncode == 0
    with open_ledger(target) as con:
        assert_whole(con)
        shas = con.execute("select sha256 from source_file order by source_file_id")
        sha256s = tuple(sha for (sha,) in shas.fetchall())
    after = published(target)
    assert before["installation"] != after["installation"]
    return Prepared(store.folder, folder, before, after, sha256s, duration_s)


@pytest.mark.parametrize("number", range(ROUNDS))
def test_a_killed_load_leaves_a_whole_store(
    prepared: Prepared, tmp_path: Path, number: int
) -> None:
    chance = random.Random(number)
    store = Store(tmp_path / "store")
    shutil.copytree(prepared.base, store.folder)
    if number % 2:  # The next edition is a file of its own.
        store.edition_path(1).unlink()
    output = kill(store, prepared, PHASES[number % len(PHASES)], chance)

    seen = published(store)
    assert seen in (prepared.before, prepared.after)
    with open_ledger(store) as con:
        assert_whole(con)
        held = [
            sha
            for (sha,) in con.execute(
                "select sha256 from source_file order by source_file_id"
            ).fetchall()
        ]
    # Whole files, in their order.
    assert tuple(held) == prepared.sha256s[: len(held)]
    if output is not None:  # It ended before the kill: what it said is kept and seen.
        assert len(json.loads(output)) + 2 == len(held)
        assert seen == prepared.after

    load(store, prepared.folder)
    with open_ledger(store) as con:
        assert_whole(con)
        assert contents(con) == prepared.after
    assert published(store) == prepared.after
    names = {path.name for path in store.folder.rglob("*")}
    assert not [name for name in names if name.endswith((".partial", ".wal"))]


def kill(
    store: Store, prepared: Prepared, phase: str | None, chance: random.Random
) -> bytes | None:
    """Start the load and kill it; return what it printed where it ended before."""
    process = start(store, prepared.folder)
    if phase is None:
        # From before it opens the store (the program takes a while to start) to the
        # end.
        time.sleep(chance.uniform(0.3, 1.0) * prepared.duration_s)
    else:
        while process.poll() is None and not list(store.folder.glob(phase)):
            time.sleep(0.0005)
        time.sleep(chance.choice([0, chance.uniform(0, 0.15 * prepared.duration_s)]))
    process.send_signal(signal.SIGKILL)
    output, _ = process.communicate()
    return output if process.returncode == 0 else None


# The very first load of a store, killed while DuckDB makes the file or the schema.
def test_a_killed_first_load_leaves_nothing_in_the_way(
    prepared: Prepared, tmp_path: Path
) -> None:
    store = Store(tmp_path / "store")
    process = start(store, prepared.folder)
    while not store.ledger_path.exists():
        time.sleep(0.0005)
    process.send_signal(signal.SIGKILL)
    process.communicate()
    assert len(load(store, prepared.folder).receipts) == 4
    published(store)


# Each state in which such a kill can leave the file.
@pytest.mark.parametrize("left", ["nothing", "one header", "no schema"])
def test_an_unfinished_ledger_is_begun_anew(tmp_path: Path, left: str) -> None:
    logs = tmp_path / "logs"
    write_log(logs, [{}])
    write_setting_data(logs)
    store = Store(tmp_path / "store")
    with open_ledger(store) as con:
        con.execute("select 1")
    whole = store.ledger_path.read_bytes()
    if left == "no schema":
        store.ledger_path.unlink()
        duckdb.connect(store.ledger_path).close()
    else:
        store.ledger_path.write_bytes(whole[: 0 if left == "nothing" else 4096])
    assert load(store, logs).edition_id == 1
    published(store)
