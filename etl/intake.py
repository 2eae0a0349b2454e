"""Take in files and folders: find each file's site map, load, publish an edition."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import duckdb

from etl.faults import StorageFaultError, fault_line, storage_fault
from etl.ledger import open_ledger
from etl.load import Receipt, load_log
from etl.lock import hold_store
from etl.progress import QUIET, LoadProgress
from etl.publish import (
    KEPT_EDITIONS,
    is_ahead_of_edition,
    publish_edition,
    seal_edition,
)
from etl.setting_data import FILE_NAME as SETTING_DATA_NAME
from etl.setting_data import load_setting_data
from etl.site_map import SiteMap, read_site_map
from queries.errors import FirmsetError
from queries.store import Store

CELLS_SQL = (Path(__file__).parent / "cells.sql").read_text("utf-8")


@dataclass(frozen=True)
class IntakeResult:
    """What a load did: a receipt a file, a line a file that failed, the edition.

    `fault` is the line that says why the load ended early, None where it did not; the
    receipts are kept all the same, but not published yet.
    """

    receipts: tuple[Receipt, ...]
    failures: tuple[str, ...]
    edition_id: int | None
    fault: str | None = None


@dataclass(frozen=True)
class _Batch:
    """Files to load, setting data first, and the site maps found beside them."""

    setting_data: tuple[Path, ...]
    logs: tuple[Path, ...]
    site_maps: tuple[SiteMap, ...]

    @property
    def file_count(self) -> int:
        return len(self.setting_data) + len(self.logs)


def load_paths(
    store: Store,
    paths: Iterable[Path],
    *,
    map_folder: Path | None = None,
    now: datetime | None = None,
    progress: LoadProgress = QUIET,
    wait_s: float = 0,
    keep_editions: int = KEPT_EDITIONS,
) -> IntakeResult:
    """Load files and folders into the store and publish one edition after the last.

    A file is one transaction: one that fails leaves no trace, the others are loaded.
    Site maps are the .toml files in `map_folder` or beside the logs. `now` is the
    load's clock (UTC). Where another load runs, its end is awaited for up to `wait_s`
    seconds. The last `keep_editions` editions stay. A full disk ends the load, with a
    `fault`. Raises FirmsetError where nothing can be begun: a path that is not there,
    a faulty site map, a store that is locked or cannot be written.
    """
    batch = _gather(list(paths), map_folder)
    clock = now or datetime.now(UTC)
    receipts: list[Receipt] = []
    failures: list[str] = []
    edition_id = None
    try:
        with hold_store(store, wait_s, progress):
            with open_ledger(store) as con:
                _load_files(con, store, batch, clock, progress, receipts, failures)
                if is_ahead_of_edition(con, store):
                    edition_id = seal_edition(con, store, clock, reason="load")
            if edition_id is not None:
                publish_edition(store, edition_id, keep_editions)
    except (duckdb.Error, OSError, StorageFaultError) as error:
        fault = storage_fault(error, store)
        if fault is None:
            raise
        line = fault_line(fault, store, len(receipts), batch.file_count)
        return IntakeResult(tuple(receipts), tuple(failures), None, line)
    return IntakeResult(tuple(receipts), tuple(failures), edition_id)


def _load_files(
    con: duckdb.DuckDBPyConnection,
    store: Store,
    batch: _Batch,
    clock: datetime,
    progress: LoadProgress,
    receipts: list[Receipt],
    failures: list[str],
) -> None:
    """Load each file, adding its receipt, or the line that says why it failed."""
    con.execute(CELLS_SQL)
    progress.begun(batch.file_count)
    for path in (*batch.setting_data, *batch.logs):
        if progress.is_stopped():
            return
        progress.loading(path)
        rows_read = 0
        try:
            receipts.append(_load_file(con, path, batch, clock))
            rows_read = receipts[-1].rows_read
        except (FirmsetError, duckdb.Error, OSError) as error:
            if storage_fault(error, store) is not None:
                raise StorageFaultError from error
            # A file is whatever somebody sent; the others are still loaded.
            failures.append(_failure(path, error))
        progress.loaded(rows_read)


def _failure(path: Path, error: Exception) -> str:
    if isinstance(error, FirmsetError):
        return str(error)
    return f"{path}: cannot be loaded: {str(error).splitlines()[0]}"


def _load_file(
    con: duckdb.DuckDBPyConnection, path: Path, batch: _Batch, clock: datetime
) -> Receipt:
    if path in batch.setting_data:
        return load_setting_data(con, path, clock)
    return load_log(con, path, site_map_for(path, batch.site_maps), clock)


def site_map_for(path: Path, site_maps: tuple[SiteMap, ...]) -> SiteMap:
    fitting = [site_map for site_map in site_maps if site_map.fits(path)]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        names = ", ".join(site_map.path.name for site_map in fitting)
        raise FirmsetError(
            f"{path}: {names} all match this name; expected one site map a file"
        )
    raise FirmsetError(
        f"{path}: no site map matches this name; put the site's .toml beside it or "
        "name its folder with --maps"
    )


def _gather(paths: list[Path], map_folder: Path | None) -> _Batch:
    files: list[Path] = []
    for path in paths:
        if path.is_dir():
            files += sorted(child for child in path.iterdir() if child.is_file())
        elif path.is_file():
            files.append(path)
        else:
            raise FirmsetError(f"{path}: no such file or folder")
    logs = [path for path in files if is_log(path)]
    folders = (
        [map_folder] if map_folder else dict.fromkeys(path.parent for path in logs)
    )
    maps = dict.fromkeys(
        found.resolve() for folder in folders for found in sorted(folder.glob("*.toml"))
    )
    return _Batch(
        setting_data=tuple(path for path in files if path.name == SETTING_DATA_NAME),
        logs=tuple(logs),
        site_maps=tuple(read_site_map(path) for path in maps),
    )


def is_log(path: Path) -> bool:
    """Everything that is not setting data, a site map or hidden was sent as a log."""
    return (
        path.suffix.lower() not in (".toml", ".md")
        and path.name != SETTING_DATA_NAME
        and not path.name.startswith(".")
    )
