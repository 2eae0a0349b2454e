"""Watch folders: find the files that have arrived complete, and load them.

Nothing is moved and nothing is remembered outside the store: after a restart a file is
known by its bytes and its site map, from the receipts.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import duckdb

from etl.batch import is_log, may_be_map
from etl.being_written import is_being_written
from etl.choose_map import choose_site_map
from etl.intake import IntakeResult
from etl.receipt import sha256_of
from etl.sheets.registry import sheet_of_file
from etl.site_map import SiteMap, read_site_map
from queries.errors import FirmsetError
from queries.store import Store

# How programs name a file that is not finished, beside a leading dot.
UNFINISHED_SUFFIXES = (".part", ".partial", ".tmp", ".temp")
UNFINISHED_PREFIX = "~$"

# After a load that could not begin or had no room; until then nothing is tried.
RETRY_S = 60.0

KNOWN_SQL = """
with held as (
    -- Of each part of the file, the last time it was loaded.
    select
        max(source_file_id) as source_file_id,
        arg_max(rejected, source_file_id) as rejected
    from source_file
    where sha256 = $sha256 and site_map_sha256 is not distinct from $site_map_sha256
    group by file_name
)

-- Rows rejected for want of setting data may be taken once newer ones have come.
select count(*) from held
having
    count(*) > 0
    and bool_and(
        rejected = 0
        or source_file_id > (
            select coalesce(max(source_file_id), 0) from source_file
            where content = 'setting data'
        )
    )
"""


@dataclass(frozen=True)
class Stamp:
    """What a file looks like from outside; another stamp means other contents."""

    byte_count: int
    mtime_ns: int


UNSEEN = Stamp(-1, -1)
Listing = Mapping[Path, Stamp]
LoadFiles = Callable[[list[Path]], IntakeResult]


def list_files(folders: Iterable[Path]) -> dict[Path, Stamp]:
    """Return the finished-looking files directly in the folders, by path.

    With a file that may not be looked at: loading it says why. OSError where a folder
    may not be, or is gone.
    """
    listing = {}
    for folder in folders:
        for path in sorted(folder.iterdir()):
            if path.name.startswith((".", UNFINISHED_PREFIX)):
                continue
            if path.suffix.lower() in UNFINISHED_SUFFIXES:
                continue
            try:
                if path.is_file():
                    stat = path.stat()
                    listing[path] = Stamp(stat.st_size, stat.st_mtime_ns)
            except FileNotFoundError:  # Gone since the folder was read.
                continue
            except OSError:
                listing[path] = UNSEEN
    return listing


class Arrivals:
    """Says which files are complete and not yet dealt with. Pure: no clock, no disk.

    A file is complete when its stamp has not changed for `settle_s` seconds and nobody
    is seen writing it. It is dealt with until it changes, or until a site map or the
    setting data do: they may be what a failed file was waiting for.
    """

    def __init__(
        self,
        settle_s: float,
        is_written: Callable[[Path], bool] = is_being_written,
    ) -> None:
        self._settle_s = settle_s
        self._is_written = is_written
        self._since: dict[Path, tuple[Stamp, float]] = {}
        self._dealt_with: dict[Path, tuple[Stamp, frozenset[tuple[Path, Stamp]]]] = {}
        self._context: frozenset[tuple[Path, Stamp]] = frozenset()

    def due(self, listing: Listing, now_s: float) -> list[Path]:
        """Return the files to load now; `now_s` is any clock that only runs forward.

        None while a site map or the setting data are still arriving: the logs beside
        them would be read without.
        """
        self._since = {
            path: self._since[path]
            if path in self._since and self._since[path][0] == stamp
            else (stamp, now_s)
            for path, stamp in listing.items()
        }
        self._context = frozenset(
            (path, stamp) for path, stamp in listing.items() if _is_context(path)
        )
        if not all(self._is_settled(path, now_s) for path, _ in self._context):
            return []
        return [
            path
            for path, stamp in listing.items()
            if is_log(path)
            and self._dealt_with.get(path) != (stamp, self._context)
            and self._is_settled(path, now_s)
        ]

    def deal_with(self, paths: Iterable[Path]) -> None:
        """Note that these files of the last listing were loaded, or have failed."""
        self._dealt_with = {
            path: dealt
            for path, dealt in self._dealt_with.items()
            if path in self._since
        }
        for path in paths:
            self._dealt_with[path] = (self._since[path][0], self._context)

    @property
    def context(self) -> frozenset[tuple[Path, Stamp]]:
        """The site maps and setting data of the last listing."""
        return self._context

    def _is_settled(self, path: Path, now_s: float) -> bool:
        return now_s - self._since[path][1] >= self._settle_s and not self._is_written(
            path
        )


def _is_context(path: Path) -> bool:
    try:
        return path.suffix.lower() == ".toml" or sheet_of_file(path) is not None
    except OSError:  # Gone since the folder was read.
        return False


class FolderWatch:
    """Loads what has arrived in folders, a batch a step.

    `load` loads files and publishes; `complain` is told, once each, why a batch could
    not be begun or ended early. Such a batch is tried again after a minute, or when a
    site map or the setting data change.
    """

    def __init__(
        self,
        store: Store,
        arrivals: Arrivals,
        load: LoadFiles,
        complain: Callable[[str], None],
    ) -> None:
        self._store = store
        self._arrivals = arrivals
        self._load = load
        self._complain = complain
        self._complaint = ""
        self._resting: tuple[float, object] = (0.0, None)
        self._is_listed = True

    def look(
        self, list_now: Callable[[], Listing], now_s: float
    ) -> IntakeResult | None:
        """Load the files that are due of those that are listed now, as `step`.

        A folder that is gone, as on a network drive, may be back at the next look.
        """
        was_listed, self._is_listed = self._is_listed, False
        try:
            listing = list_now()
        except OSError as error:
            if was_listed:
                self._complain(f"{_system_words(error)}; waiting for it to come back")
            return None
        self._is_listed = True
        return self.step(listing, now_s)

    def step(self, listing: Listing, now_s: float) -> IntakeResult | None:
        """Load the files that are due; None where none were."""
        due = self._arrivals.due(listing, now_s)
        until_s, context = self._resting
        if not due or (now_s < until_s and context == self._arrivals.context):
            return None
        try:
            unknown = _without_known(self._store, due, listing)
            result = self._load(unknown) if unknown else None
        except FirmsetError as error:
            self._rest(str(error), now_s)
            return None
        except OSError as error:
            self._rest(_system_words(error), now_s)
            return None
        if result is not None and result.fault is not None:
            self._rest(result.fault, now_s)
            return result
        self._complaint = ""
        has_new_settings = result is not None and any(
            receipt.content == "setting data" and receipt.is_new
            for receipt in result.receipts
        )
        # With new setting data, what was known may not be the last word: next step.
        self._arrivals.deal_with(unknown if has_new_settings else due)
        return result

    def _rest(self, complaint: str, now_s: float) -> None:
        if complaint != self._complaint:
            self._complain(complaint)
        self._complaint = complaint
        self._resting = (now_s + RETRY_S, self._arrivals.context)


def _without_known(store: Store, paths: list[Path], listing: Listing) -> list[Path]:
    """Leave out the files whose bytes the store took before, by the same site map."""
    site_maps = _site_maps(listing)
    if store.current_edition_id() is None:
        return paths
    with store.reader() as con:
        return [path for path in paths if not _is_known(con, path, site_maps)]


def _site_maps(listing: Listing) -> tuple[SiteMap, ...]:
    """Read the site maps among the files; FirmsetError where one is faulty."""
    try:
        return tuple(
            read_site_map(path)
            for path in listing
            if path.suffix.lower() == ".toml" and may_be_map(path)
        )
    except FirmsetError as error:
        raise FirmsetError(
            f"{error}\nuntil this is mended, no file that is watched is loaded"
        ) from error


def _system_words(error: OSError) -> str:
    return f"{error.filename}: {error.strerror}"


def _is_known(
    con: duckdb.DuckDBPyConnection, path: Path, site_maps: tuple[SiteMap, ...]
) -> bool:
    try:
        site_map_sha256 = (
            None if sheet_of_file(path) else choose_site_map(path, site_maps).sha256
        )
        sha256 = sha256_of(path)
    except (FirmsetError, OSError):
        return False  # The load says why.
    found = con.execute(
        KNOWN_SQL, {"sha256": sha256, "site_map_sha256": site_map_sha256}
    )
    return bool(found.fetchall())
