"""A store of an older firmset: refused in words, brought along whole, or let be."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from dashboard.app import route
from dashboard.command import main
from etl import migrate as migrating
from etl.migrate import migrate
from queries.build import OLDEST_TO_MIGRATE, SCHEMA_VERSION
from queries.errors import FirmsetError
from queries.proof import all_proofs, read_faults
from queries.readers.drilling import read_drilling_summary
from queries.selection import Selection
from queries.store import Store
from queries.tally import count_columns
from tests.builders import NOW, Row, build_store, load, write_log
from tests.dashboard.components import text
from tests.ledger import ledger_content

ROWS: list[Row] = [
    {"record_id": "A", "drill_s": "12"},
    {"record_id": "B", "drill_s": "18", "setting_torque_nm": "75"},
]
CALIBRATION: Row = {
    "wrench_code": "W1",
    "calibrated_on": "2026-05-10",
    "range_low_nm": "20",
    "range_high_nm": "120",
    "certificate": "sheet 14",
}
# As of version 8, which had not the columns that a reader asks for now.
OLDER_VIEW = """
create or replace macro drilling_summary(
    from_on, to_on, site_codes, crew_codes, anchor_sizes
) as table select anchor_size, count(*) as attempts from drilled_hole group by all
"""


def files_of(store: Store) -> Iterator[Path]:
    yield store.ledger_path
    yield from (store.edition_path(each) for each in store.edition_ids())


def make_older(store: Store, version: int = OLDEST_TO_MIGRATE) -> None:
    """Give ledger and editions the views and the number of another version.

    And a row of a crew whose last installation went, as versions before 11 kept it.
    """
    gone = ", ".join(f"0 as {name}" for name in count_columns())
    for path in files_of(store):
        with duckdb.connect(path) as con:
            con.execute(OLDER_VIEW)
            for tally in ("tally", "tally_month"):
                con.execute(
                    f"insert into {tally} "
                    f"select * replace ('GONE' as crew_code, {gone}) from {tally}"
                )
            con.execute("alter table rejected_row drop column if exists revision")
            con.execute("alter table wrench_calibration drop column if exists as_found")
            con.execute("delete from schema_version")
            con.execute("insert into schema_version values (?)", [version])
            con.execute("checkpoint")


@pytest.fixture
def older(tmp_path: Path) -> Store:
    """Two editions: of the second a row more."""
    store = build_store(tmp_path, ROWS, calibrations=[CALIBRATION])
    more = write_log(tmp_path / "more", [{"record_id": "C"}], site="SITE-2")
    assert load(store, more).edition_id == 2
    make_older(store)
    return store


def attempts(store: Store, edition_id: int | None = None) -> list[int]:
    with store.reader(edition_id) as con:
        summary = read_drilling_summary(con, Selection())
    assert summary["completed_mean_s"].to_list() == [15.0]
    return [int(each) for each in summary["attempts"]]


def test_an_older_store_is_refused_with_what_migrates_it(
    older: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = f"firmset migrate --store {older.folder}"
    assert command in text(route(older, "/sites", "")[0])
    with pytest.raises(FirmsetError, match=command), older.reader():
        pass
    with pytest.raises(FirmsetError, match=command):
        load(older, write_log(tmp_path / "again", [{}]))
    assert main(command.split()[1:]) == 0
    assert capsys.readouterr().out.startswith("ledger: schema")
    assert command not in text(route(older, "/sites", "")[0])


def test_ledger_and_editions_come_along_with_all_they_hold(
    older: Store, tmp_path: Path
) -> None:
    done = migrate(older, now=NOW).splitlines()
    assert done == [
        f"ledger: schema {OLDEST_TO_MIGRATE} brought to {SCHEMA_VERSION}",
        "edition 3 published",
        f"edition 1: schema {OLDEST_TO_MIGRATE} brought to {SCHEMA_VERSION}",
        f"edition 2: schema {OLDEST_TO_MIGRATE} brought to {SCHEMA_VERSION}",
    ]
    with older.reader() as con:
        told = con.execute("from ledger_change order by change_id desc limit 1")
        assert (
            told.fetchall()[0][2] == f"migrate {OLDEST_TO_MIGRATE} to {SCHEMA_VERSION}"
        )
    assert attempts(older) == attempts(older, 2) == [3]
    # Last month's report, by its address.
    assert attempts(older, 1) == [2]
    sites = {"SITE-1": ROWS, "SITE-2": [{"record_id": "C"}]}
    anew = build_store(tmp_path / "anew", sites=sites)
    assert ledger_content(older) == ledger_content(anew)
    with older.reader() as con:
        assert read_faults(con, all_proofs()).is_empty()
    assert load(older, write_log(tmp_path / "next", [{}], site="SITE-3")).edition_id


def test_calibrations_come_along_with_nothing_told_of_the_time_before(
    older: Store, tmp_path: Path
) -> None:
    migrate(older)
    anew = build_store(tmp_path / "anew", calibrations=[CALIBRATION])
    for each in (None, 1, 2):
        with older.reader(each) as con, anew.reader() as con_anew:
            both = [
                (
                    found.execute("describe wrench_calibration").fetchall(),
                    found.execute(
                        "select * exclude (source_file_id) from wrench_calibration"
                    ).fetchall(),
                )
                for found in (con, con_anew)
            ]
            told = con.execute("select as_found from wrench_calibration").fetchall()
        assert both[0] == both[1]
        assert told == [(None,)]


def test_what_is_up_to_date_is_let_be(older: Store) -> None:
    migrate(older)
    before = {path: path.stat().st_mtime_ns for path in files_of(older)}
    assert migrate(older) == f"{older.folder}: has schema {SCHEMA_VERSION} already"
    # Opening a ledger for writing touches it; its editions are as they were.
    for path, written_ns in before.items():
        assert path == older.ledger_path or path.stat().st_mtime_ns == written_ns


@pytest.mark.parametrize("last", ["publish_edition", "_migrate_edition"])
def test_one_that_was_stopped_is_carried_on(
    older: Store, monkeypatch: pytest.MonkeyPatch, last: str
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(migrating, last, stopped)
        migrate(older)
    done = migrate(older)
    assert "ledger" not in done
    assert ("edition 3 published" in done) == (last == "publish_edition")
    assert attempts(older) == [3]
    assert attempts(older, 1) == [2]


def test_one_that_was_killed_leaves_nothing_to_the_next(
    older: Store, tmp_path: Path
) -> None:
    """The copy of an edition, its steps committed, not yet in its file."""
    edition = older.edition_path(1)
    left = edition.with_suffix(".partial")
    shutil.copyfile(edition, left)
    code = (
        "import duckdb, os, sys; con = duckdb.connect(sys.argv[1]);"
        f"con.execute('insert into schema_version values ({SCHEMA_VERSION})');"
        "con.execute('delete from installation'); os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", code, str(left)], check=True)
    assert left.with_suffix(".partial.wal").exists()
    migrate(older)
    assert attempts(older, 1) == [2]
    assert not list(edition.parent.glob("*.partial*"))


def test_a_step_that_fails_changes_nothing(
    older: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = tmp_path / "steps"
    steps.mkdir()
    for version in range(OLDEST_TO_MIGRATE + 1, SCHEMA_VERSION + 1):
        (steps / f"{version}.sql").write_text(
            "drop view crew_rate; alter table no_such_table add column a int"
        )
    with monkeypatch.context() as patched, pytest.raises(duckdb.CatalogException):
        patched.setattr(migrating, "STEPS", steps)
        migrate(older)
    with duckdb.connect(older.ledger_path) as con:
        con.execute("from crew_rate limit 1")
        assert con.execute("from schema_version").fetchall() == [(OLDEST_TO_MIGRATE,)]
    assert attempts_after(older) == [3]


def attempts_after(store: Store) -> list[int]:
    migrate(store)
    return attempts(store)


def test_a_damaged_edition_is_left_and_named(older: Store) -> None:
    older.edition_path(1).write_bytes(b"no database" * 2000)
    done = migrate(older).splitlines()
    assert done[2].startswith("edition 1: left as it was (")
    assert older.edition_path(1).read_bytes().startswith(b"no database")
    assert attempts(older, 2) == [3]


@pytest.mark.parametrize(
    ("version", "words"),
    [
        (OLDEST_TO_MIGRATE - 1, "build the store anew from the site logs"),
        (SCHEMA_VERSION + 1, "a newer firmset made it"),
    ],
)
def test_what_no_steps_lead_from(older: Store, version: int, words: str) -> None:
    make_older(older, version)
    with pytest.raises(FirmsetError, match=words):
        migrate(older)
    with pytest.raises(FirmsetError, match=words), older.reader():
        pass


def test_where_there_is_no_ledger(tmp_path: Path) -> None:
    with pytest.raises(FirmsetError, match="no store is here"):
        migrate(Store(tmp_path))
    with duckdb.connect(tmp_path / "ledger.duckdb") as con:
        con.execute("create table something (a integer)")
    with pytest.raises(FirmsetError, match="not a ledger of firmset"):
        migrate(Store(tmp_path))


def test_every_version_has_its_step() -> None:
    steps = {int(path.stem) for path in migrating.STEPS.glob("*.sql")}
    assert steps == set(range(OLDEST_TO_MIGRATE + 1, SCHEMA_VERSION + 1))
