"""Take in files and folders: find each file's site map, load, publish an edition."""

import logging
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from etl.batch import Batch, gather
from etl.choose_map import choose_site_map
from etl.corrected_rows import is_corrections
from etl.corrections import corrected_parts
from etl.faults import StorageFaultError, fault_line, storage_fault
from etl.file_parts import parts_of
from etl.ledger import open_ledger
from etl.load import load_log
from etl.lock import hold_store
from etl.parts_failed import PartsFailed
from etl.progress import QUIET, LoadProgress
from etl.publish import (
    is_ahead_of_edition,
    publish_edition,
    seal_edition,
)
from etl.readings import prepare_readings
from etl.receipt import Receipt, as_they_stand
from etl.sheets.load import load_sheet
from etl.site_map import SiteMap
from queries.errors import FirmsetError
from queries.store import Store

_log = logging.getLogger(__name__)


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


def load_paths(
    store: Store,
    paths: Iterable[Path],
    *,
    map_folder: Path | None = None,
    only_map: Path | None = None,
    now: datetime | None = None,
    progress: LoadProgress = QUIET,
    wait_s: float = 0,
    keep_editions: int | None = None,
) -> IntakeResult:
    """Load files and folders into the store and publish one edition after the last.

    A file, or a part of one with a receipt of its own, is one transaction: one that
    fails leaves no trace, the others are loaded.
    Site maps are the .toml files in `map_folder` or beside the logs; `only_map` is one
    for every log instead, whatever its name. `now` is the
    load's clock (UTC). Where another load runs, its end is awaited for up to `wait_s`
    seconds. `keep_editions`: as publish_edition. A full disk ends the load, with a
    `fault`. Raises FirmsetError where nothing can be begun: a path that is not there,
    a faulty site map, a store that is locked or cannot be written; OSError where a
    folder may not be read.
    """
    batch = gather(list(paths), map_folder, only_map)
    clock = now or datetime.now(UTC)
    receipts: list[Receipt] = []
    failures: list[str] = []
    edition_id = None
    try:
        with hold_store(store, wait_s, progress):
            with open_ledger(store) as con:
                _load_files(con, store, batch, clock, progress, receipts, failures)
                receipts[:] = as_they_stand(con, receipts)
                has_news = any(receipt.is_new for receipt in receipts)
                if has_news or is_ahead_of_edition(con, store):
                    edition_id = seal_edition(con, store, clock, reason="load")
            if edition_id is not None:
                publish_edition(store, edition_id, keep_editions)
    except (duckdb.Error, OSError, StorageFaultError) as error:
        fault = storage_fault(error, store)
        if fault is None:
            raise
        kept = len({receipt.sha256 for receipt in receipts})
        line = fault_line(fault, store, kept, len(batch.files))
        return IntakeResult(tuple(receipts), tuple(failures), None, line)
    return IntakeResult(tuple(receipts), tuple(failures), edition_id)


def _load_files(
    con: duckdb.DuckDBPyConnection,
    store: Store,
    batch: Batch,
    clock: datetime,
    progress: LoadProgress,
    receipts: list[Receipt],
    failures: list[str],
) -> None:
    """Load each file, adding its receipt, or the line that says why it failed."""
    prepare_readings(con)
    progress.begun(len(batch.files))
    for path in batch.files:
        if progress.is_stopped():
            return
        progress.loading(path)
        rows_read = 0
        try:
            for receipt in _load_file(con, path, batch, clock):
                receipts.append(receipt)
                rows_read += receipt.rows_read
        except (FirmsetError, duckdb.Error, OSError) as error:
            if storage_fault(error, store) is not None:
                raise StorageFaultError from error
            # A file is whatever somebody sent; the others are still loaded.
            failures.append(_failure(path, error))
        except Exception as error:  # Ours to mend, and no reason to lose the others.
            _log.debug("%s", path, exc_info=True)
            failures.append(_failure(path, error))
        progress.loaded(rows_read)


def _failure(path: Path, error: Exception) -> str:
    if isinstance(error, FirmsetError):
        return str(error)
    if isinstance(error, OSError) and error.strerror:
        return f"{path}: cannot be read: {error.strerror}"
    if not isinstance(error, (OSError, duckdb.Error)):
        return (
            f"{path}: cannot be loaded: a fault of firmset's own ({error!r}); please "
            "report it with the file, or its first rows"
        )
    return f"{path}: cannot be loaded: {str(error).splitlines()[0]}"


def _load_file(
    con: duckdb.DuckDBPyConnection, path: Path, batch: Batch, clock: datetime
) -> Iterator[Receipt]:
    if path in batch.sheets:
        yield load_sheet(con, path, batch.sheets[path], clock)
    elif is_corrections(path):
        yield from _load_corrections(con, path, clock)
    else:
        site_map = batch.only_map or choose_site_map(path, batch.site_maps)
        yield from _load_parts(con, path, site_map, clock)


def _load_parts(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap, clock: datetime
) -> Iterator[Receipt]:
    """Load a log, or each part of it that the map takes, failed or not."""
    failed = PartsFailed(path)
    for part, its_map in parts_of(path, site_map):
        try:
            yield from load_log(con, path, its_map, clock, part=part)
        except FirmsetError as error:
            failed.add(part, error)
    failed.report(site_map.chosen_because)


def _load_corrections(
    con: duckdb.DuckDBPyConnection, path: Path, clock: datetime
) -> Iterator[Receipt]:
    """Load corrected rows: a receipt for each site map they were read with."""
    with TemporaryDirectory() as name:
        for rows, part, site_map in corrected_parts(con, path, Path(name)):
            yield from load_log(con, rows, site_map, clock, sent_as=path, part=part)
