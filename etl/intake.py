"""Take in files and folders: find each file's site map, load, publish an edition."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import duckdb

from etl.choose_map import choose_site_map
from etl.ledger import open_ledger
from etl.load import Receipt, load_log
from etl.publish import publish_edition, seal_edition
from etl.setting_data import FILE_NAME as SETTING_DATA_NAME
from etl.setting_data import load_setting_data
from etl.site_map import SiteMap, read_site_map
from queries.errors import FirmsetError
from queries.store import Store

CELLS_SQL = (Path(__file__).parent / "cells.sql").read_text("utf-8")


@dataclass(frozen=True)
class IntakeResult:
    """What a load did: a receipt a file, a line a file that failed, the edition."""

    receipts: tuple[Receipt, ...]
    failures: tuple[str, ...]
    edition_id: int | None


@dataclass(frozen=True)
class _Batch:
    """Files to load, setting data first, and the site maps found beside them."""

    setting_data: tuple[Path, ...]
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
        con.execute(CELLS_SQL)
        for path in (*batch.setting_data, *batch.logs):
            on_file(path)
            try:
                receipts.append(_load_file(con, path, batch, clock))
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


def _is_ahead_of_edition(con: duckdb.DuckDBPyConnection, store: Store) -> bool:
    """Say whether the ledger holds files that the edition lacks.

    They are from this load, or from one that was killed before it published.
    """
    newest = con.execute("select max(source_file_id) from source_file").fetchall()[0][0]
    if newest is None:
        return False
    if store.current_edition_id() is None:
        return True
    with store.reader() as reader:
        published = reader.execute("select max(source_file_id) from source_file")
        return bool(published.fetchall() != [(newest,)])


def _load_file(
    con: duckdb.DuckDBPyConnection, path: Path, batch: _Batch, clock: datetime
) -> Receipt:
    if path in batch.setting_data:
        return load_setting_data(con, path, clock)
    site_map = choose_site_map(path, batch.site_maps)
    try:
        return load_log(con, path, site_map, clock)
    except FirmsetError as error:
        if site_map.chosen_because is None:
            raise
        raise FirmsetError(f"{error} (site map {site_map.chosen_because})") from error


def _gather(paths: list[Path], map_folder: Path | None) -> _Batch:
    files: list[Path] = []
    for path in paths:
        if path.is_dir():
            files += sorted(child for child in path.iterdir() if child.is_file())
        elif path.is_file():
            files.append(path)
        else:
            raise FirmsetError(f"{path}: no such file or folder")
    logs = [path for path in files if _is_log(path)]
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


def _is_log(path: Path) -> bool:
    """Everything that is not setting data, a site map or hidden was sent as a log."""
    return (
        path.suffix.lower() not in (".toml", ".md")
        and path.name != SETTING_DATA_NAME
        and not path.name.startswith(".")
    )
