"""Take in files and folders: find each file's site map, load, publish an edition."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory

import duckdb
import polars as pl

from etl.choose_map import choose_site_map
from etl.corrections import corrected_parts, is_corrections
from etl.ledger import open_ledger
from etl.load import load_log
from etl.publish import publish_edition, seal_edition
from etl.readings import prepare_readings
from etl.receipt import Receipt
from etl.sheets.declaration import Sheet
from etl.sheets.load import load_sheet
from etl.sheets.registry import sheets_among
from etl.site_map import SiteMap, read_site_map
from etl.unload import unload_file
from queries.errors import FirmsetError
from queries.readers.intake import read_rejects
from queries.store import Store


@dataclass(frozen=True)
class IntakeResult:
    """What a load did: a receipt a file, a line a file that failed, the edition."""

    receipts: tuple[Receipt, ...]
    failures: tuple[str, ...]
    edition_id: int | None


@dataclass(frozen=True)
class _Batch:
    """Files to load, sheets of master data first, and the site maps found beside."""

    sheets: dict[Path, Sheet]
    logs: tuple[Path, ...]
    site_maps: tuple[SiteMap, ...]


def load_paths(
    store: Store,
    paths: Iterable[Path],
    *,
    map_folder: Path | None = None,
    now: datetime | None = None,
    on_file: Callable[[Path], None] = lambda path: None,
) -> IntakeResult:
    """Load files and folders into the store and publish one edition after the last.

    A file is one transaction: one that fails leaves no trace, the others are loaded.
    Site maps are the .toml files in `map_folder` or beside the logs. `now` is the
    load's clock (UTC). `on_file` is called before each file. Raises FirmsetError where
    nothing can be begun: a path that is not there, a faulty site map, a locked store.
    """
    batch = _gather(list(paths), map_folder)
    clock = now or datetime.now(UTC)
    receipts: list[Receipt] = []
    failures: list[str] = []
    with open_ledger(store) as con:
        prepare_readings(con)
        for path in (*batch.sheets, *batch.logs):
            on_file(path)
            try:
                receipts += _load_file(con, path, batch, clock)
            except FirmsetError as error:
                failures.append(str(error))
            except duckdb.Error as error:
                # A file is whatever somebody sent; the others are still loaded.
                reason = str(error).splitlines()[0]
                failures.append(f"{path}: cannot be loaded: {reason}")
        edition_id = None
        if _is_ahead_of_edition(con, store):
            edition_id = seal_edition(con, store, clock, reason="load")
    if edition_id is not None:
        publish_edition(store, edition_id)
    return IntakeResult(tuple(receipts), tuple(failures), edition_id)


@dataclass(frozen=True)
class Rehearsal:
    """What a load would do: its result, and the rows that it would reject."""

    result: IntakeResult
    rejects: pl.DataFrame


def rehearse(
    store: Store,
    paths: Iterable[Path],
    *,
    map_folder: Path | None = None,
    now: datetime | None = None,
) -> Rehearsal:
    """Load into a copy of the published edition that is thrown away; the store stays.

    Parameters as for load_paths. `rejects`: the columns of read_rejects.
    """
    with TemporaryDirectory() as name:
        copy = Store(Path(name))
        edition_id = store.current_edition_id()
        held = 0
        if edition_id is not None:
            with store.reader() as con:
                [(held,)] = con.execute(
                    "select coalesce(max(source_file_id), 0) from source_file"
                ).fetchall()
            copyfile(store.edition_path(edition_id), copy.ledger_path)
        result = load_paths(copy, paths, map_folder=map_folder, now=now)
        rejects = pl.DataFrame()
        if result.edition_id is not None:
            with copy.reader() as con:
                rejects = read_rejects(con).filter(pl.col("source_file_id") > held)
        return Rehearsal(replace(result, edition_id=None), rejects)


def unload(store: Store, source_file_id: int, *, now: datetime | None = None) -> str:
    """Take back the load of one file, and publish; return what was done, in words.

    `now` is the clock (UTC). FirmsetError where there is no such receipt, or it is
    taken back already.
    """
    clock = now or datetime.now(UTC)
    with open_ledger(store) as con:
        done = unload_file(con, source_file_id, clock)
        edition_id = seal_edition(con, store, clock, reason="unload")
    publish_edition(store, edition_id)
    return f"{done}; edition {edition_id} published"


def _is_ahead_of_edition(con: duckdb.DuckDBPyConnection, store: Store) -> bool:
    """Say whether the ledger holds changes that the edition lacks.

    They are from this load, or from one that was killed before it published.
    """
    newest = con.execute("select max(change_id) from ledger_change").fetchall()
    if newest == [(None,)]:
        return False
    if store.current_edition_id() is None:
        return True
    with store.reader() as reader:
        published = reader.execute("select max(change_id) from ledger_change")
        return bool(published.fetchall() != newest)


def _load_file(
    con: duckdb.DuckDBPyConnection, path: Path, batch: _Batch, clock: datetime
) -> list[Receipt]:
    if path in batch.sheets:
        return [load_sheet(con, path, batch.sheets[path], clock)]
    if is_corrections(path):
        return _load_corrections(con, path, clock)
    site_map = choose_site_map(path, batch.site_maps)
    try:
        return [load_log(con, path, site_map, clock)]
    except FirmsetError as error:
        if site_map.chosen_because is None:
            raise
        raise FirmsetError(f"{error} (site map {site_map.chosen_because})") from error


def _load_corrections(
    con: duckdb.DuckDBPyConnection, path: Path, clock: datetime
) -> list[Receipt]:
    """Load corrected rows: a receipt for each site map they were read with."""
    with TemporaryDirectory() as name:
        return [
            load_log(con, part, site_map, clock, sent_as=path)
            for part, site_map in corrected_parts(con, path, Path(name))
        ]


def _gather(paths: list[Path], map_folder: Path | None) -> _Batch:
    files: list[Path] = []
    for path in paths:
        if path.is_dir():
            files += sorted(child for child in path.iterdir() if child.is_file())
        elif path.is_file():
            files.append(path)
        else:
            raise FirmsetError(f"{path}: no such file or folder")
    sheets = sheets_among(files)
    logs = [path for path in files if path not in sheets and _is_log(path)]
    folders = (
        [map_folder] if map_folder else dict.fromkeys(path.parent for path in logs)
    )
    maps = dict.fromkeys(
        found.resolve() for folder in folders for found in sorted(folder.glob("*.toml"))
    )
    return _Batch(
        sheets=sheets,
        logs=tuple(logs),
        site_maps=tuple(read_site_map(path) for path in maps),
    )


def _is_log(path: Path) -> bool:
    """Everything that is not a sheet, a site map or hidden was sent as a log."""
    return path.suffix.lower() not in (".toml", ".md") and not path.name.startswith(".")
