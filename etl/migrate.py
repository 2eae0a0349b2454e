"""Bring a store that an older firmset made to today's schema, by numbered steps."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import duckdb

from etl.faults import change_fault
from etl.ledger import LEDGER_CONFIG, NO_LEDGER, open_ledger
from etl.lock import hold_store
from etl.publish import (
    drop_partial,
    is_ahead_of_edition,
    move_to_disk,
    publish_edition,
    seal_edition,
)
from etl.receipt import note_change
from queries.build import SCHEMA_VERSION, create_macros, create_views
from queries.edition_file import check_can_migrate, read_schema_version
from queries.errors import FirmsetError
from queries.store import Store

# N.sql takes a store of version N - 1 to N; every version since the oldest that can be
# brought here has one, if only to say why.
STEPS = Path(__file__).parent / "migrations"


def migrate(store: Store, *, now: datetime | None = None, wait_s: float = 0) -> str:
    """Bring ledger and editions to today's schema; return what was done, a line each.

    The ledger is published as a new edition; the editions kept beside it are brought
    along, so that a link to last month's stays good. Nothing that a store holds is
    changed. Killed at any point, it is carried on by the next call. `now` is the clock
    (UTC); another load's end is awaited for `wait_s` seconds. FirmsetError where there
    is no store, or none that can be brought here; the message says what to do.
    """
    if not store.ledger_path.exists():
        raise FirmsetError(f"{store.folder}: no store is here, so nothing to migrate")
    clock = now or datetime.now(UTC)
    try:
        with hold_store(store, wait_s):
            done = [
                *_migrate_ledger(store, clock),
                *(
                    line
                    for each in store.edition_ids()
                    for line in _migrate_edition(store, each, clock)
                ),
            ]
    except (duckdb.Error, OSError) as error:
        raise change_fault(error, store, is_made=False) or error from error
    return "\n".join(done) or f"{store.folder}: has schema {SCHEMA_VERSION} already"


def _migrate_ledger(store: Store, now: datetime) -> list[str]:
    """Bring the ledger to today's schema, and publish it if no edition shows it."""
    done = []
    with open_ledger(store, is_older=True) as con:
        before = _version(con, store.ledger_path)
        if before < SCHEMA_VERSION:
            _take_steps(con, before, now)
            done.append(f"ledger: {_versions(before)}")
        is_ahead = is_ahead_of_edition(con, store)
        if is_ahead:
            edition_id = seal_edition(con, store, now, reason="migrate")
    if is_ahead:
        publish_edition(store, edition_id)
        done.append(f"edition {edition_id} published")
    return done


def _version(con: duckdb.DuckDBPyConnection, path: Path) -> int:
    """Return the schema that it has; FirmsetError where no steps lead from it."""
    try:
        version = read_schema_version(con)
    except duckdb.CatalogException as error:
        raise FirmsetError(f"{path}: {NO_LEDGER}") from error
    check_can_migrate(version, path)
    return version


def _take_steps(con: duckdb.DuckDBPyConnection, before: int, now: datetime) -> None:
    """Take the steps there are, in one transaction, and make all views anew."""
    con.execute("begin")
    try:
        for version in range(before + 1, SCHEMA_VERSION + 1):
            con.execute((STEPS / f"{version}.sql").read_text("utf-8"))
            con.execute("insert into schema_version values (?)", [version])
        create_macros(con)
        create_views(con)
        note_change(con, now, f"migrate {before} to {SCHEMA_VERSION}")
        con.execute("commit")
    except BaseException:
        con.execute("rollback")
        raise


def _versions(before: int) -> str:
    return f"schema {before} brought to {SCHEMA_VERSION}"


def _migrate_edition(store: Store, edition_id: int, now: datetime) -> list[str]:
    """Bring a kept edition along, as a whole file that takes its name."""
    path = store.edition_path(edition_id)
    try:
        with duckdb.connect(path, read_only=True) as con:
            before = _version(con, path)
    except (duckdb.Error, FirmsetError) as error:
        # Readers are told of a damaged one themselves, and shown another.
        return [f"edition {edition_id}: left as it was ({str(error).splitlines()[0]})"]
    if before == SCHEMA_VERSION:
        return []
    drop_partial(store)
    partial = path.with_suffix(".partial")
    try:
        shutil.copyfile(path, partial)
        with duckdb.connect(partial, config=LEDGER_CONFIG) as con:
            con.execute("set TimeZone = 'UTC'")
            _take_steps(con, before, now)
            con.execute("checkpoint")
        move_to_disk(partial, path)
    finally:
        drop_partial(store)
    return [f"edition {edition_id}: {_versions(before)}"]
