"""A store as its readers see it: the published edition, opened read-only.

A store is a folder: `ledger.duckdb`, written only by a load, and `editions/` with
numbered copies of it and a pointer file that names the current one. Each edition has
a file name of its own because DuckDB keeps showing the old contents of a path that
was replaced while a connection to it lives. Where a whole store takes another's place
the names are the same: `opened_files` then says so.
"""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import duckdb

from queries.edition_file import DamagedEdition, is_damage, open_edition
from queries.errors import FirmsetError
from queries.opened_files import FileStamp, OpenedFiles, stamp_of
from queries.pinned import EditionNotKept, PinnedEditions
from queries.readers.edition import know_edition

POINTER_NAME = "current"


class NoEdition(FirmsetError):  # noqa: N818
    """Nothing is published in a store's folder, or in one that is not there yet."""


class Store:
    """One store folder. Safe to share between threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._was_there = stamp_of(folder) is not None
        self.warning = ""  # Set while another edition than the pointed one is shown.
        self._lock = threading.Lock()
        self._pointer = ""
        self._edition_id = 0
        self._connection: duckdb.DuckDBPyConnection | None = None
        self._damaged: dict[int, str] = {}
        self._opened = OpenedFiles(self.edition_path)
        self._pinned = PinnedEditions(self._open)

    @property
    def ledger_path(self) -> Path:
        """Where a load writes."""
        return self.folder / "ledger.duckdb"

    def is_gone(self) -> bool:
        """Say whether the folder was there when it was looked for, and is not now."""
        is_there = stamp_of(self.folder) is not None
        self._was_there = self._was_there or is_there
        return self._was_there and not is_there

    @property
    def pointer_path(self) -> Path:
        """The file that holds the number of the current edition, and its size."""
        return self.folder / "editions" / POINTER_NAME

    def edition_path(self, edition_id: int) -> Path:
        """Where an edition is, or would be."""
        return self.folder / "editions" / f"{edition_id:08d}.duckdb"

    def edition_ids(self) -> list[int]:
        """Return the numbers of the editions whose files are there, ascending."""
        stems = [path.stem for path in self.pointer_path.parent.glob("*.duckdb")]
        return sorted(int(stem) for stem in stems if stem.isdecimal())

    def current_edition_id(self) -> int | None:
        """Return the number in the pointer file; None where it holds none."""
        edition_id, _ = _parse_pointer(self._read_pointer())
        return edition_id

    def newest(self) -> tuple[int | None, FileStamp | None]:
        """Return the pointed edition's number and file: other after any change."""
        edition_id = self.current_edition_id()
        if edition_id is None:
            return None, None
        return edition_id, stamp_of(self.edition_path(edition_id))

    def newest_sound_edition(self) -> Path | None:
        """Return the file of the newest edition that can be opened, None without."""
        for edition_id in reversed(self.edition_ids()):
            path = self.edition_path(edition_id)
            with suppress(FirmsetError):
                open_edition(path).close()
                return path
        return None

    @contextmanager
    def reader(self, pinned: int | None = None) -> Iterator[duckdb.DuckDBPyConnection]:
        """Yield a cursor on the current edition; a new load's edition from the next on.

        Where the current edition is damaged, the newest other one that can be read
        is shown; `warning` then says so, and the log "firmset" says it once (on
        stderr, where nobody set up logging). `pinned`: that edition and no other;
        EditionNotKept where it is not there. Raises FirmsetError where nothing was
        published, the edition was made by another version of the schema, damage
        shows while it is read, or its file was replaced and the former one is still
        being read.
        """
        with self._lock:
            if pinned is None:
                connection, edition_id = self._current_connection(), self._edition_id
            else:
                connection, edition_id = self._pinned_connection(pinned), pinned
            cursor = connection.cursor()
            self._opened.hold(edition_id)
        try:
            know_edition(cursor, connection)
            yield cursor
        except duckdb.Error as error:
            if not is_damage(error):
                raise
            reason = str(error).splitlines()[0]
            with self._lock:
                self._damaged[edition_id] = reason
                self._connection = None
                self._pinned.forget(edition_id)
            raise FirmsetError(
                f"{self.edition_path(edition_id)}: the edition is damaged ({reason}); "
                f"delete this file and {self._republish()}"
            ) from error
        finally:
            cursor.close()
            with self._lock:
                self._opened.release(edition_id)

    @contextmanager
    def pointed_reader(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """Yield a connection to the pointed edition and no other; else FirmsetError."""
        edition_id, byte_count = _parse_pointer(self._read_pointer())
        if edition_id is None:
            raise DamagedEdition(f"{self.pointer_path}: does not name an edition")
        connection = open_edition(self.edition_path(edition_id), byte_count)
        try:
            yield connection
        finally:
            connection.close()

    def _read_pointer(self) -> str:
        try:
            return self.pointer_path.read_bytes().decode("ascii", "replace").strip()
        except (FileNotFoundError, NotADirectoryError):
            return ""
        except OSError as error:
            raise FirmsetError(
                f"{self.pointer_path}: cannot be read ({error.strerror})"
            ) from error

    def _current_connection(self) -> duckdb.DuckDBPyConnection:
        pointer = self._read_pointer()
        self._close_replaced(self._edition_id)
        if self._connection is None or pointer != self._pointer:
            # The old connection is not closed: a reader may be half way through an
            # answer. It goes when its last cursor does.
            self._connection = self._open_best(pointer)
            self._pointer = pointer
        return self._connection

    def _pinned_connection(self, edition_id: int) -> duckdb.DuckDBPyConnection:
        newest = self.current_edition_id()
        if newest is not None and edition_id > newest:
            raise EditionNotKept(
                f"edition {edition_id} is not published: the newest is {newest}"
            )
        if not self.edition_path(edition_id).is_file():
            self._pinned.forget(edition_id)
            there = ", ".join(map(str, self.edition_ids())) or "none"
            raise EditionNotKept(
                f"edition {edition_id} is no longer kept: a store keeps its newest "
                f"editions only; there are: {there}"
            )
        self._close_replaced(edition_id)
        if self._connection is not None and edition_id == self._edition_id:
            return self._connection
        return self._pinned.connection(edition_id)

    def _open(self, edition_id: int, byte_count: int = 0) -> duckdb.DuckDBPyConnection:
        """Open an edition's file as it is now; `byte_count`: as open_edition."""
        self._close_replaced(edition_id)
        self._opened.note(edition_id)
        self._was_there = True
        return open_edition(self.edition_path(edition_id), byte_count)

    def _close_replaced(self, edition_id: int) -> None:
        """Close an edition whose file is another one by now, so that this one opens.

        FirmsetError while somebody reads the former one: DuckDB would hand it out.
        """
        if not self._opened.is_replaced(edition_id):
            return
        if self._opened.is_held(edition_id):
            raise FirmsetError(
                f"{self.folder}: another store took this one's place, whose figures "
                "are still being read; ask again in a moment"
            )
        self._damaged.pop(edition_id, None)
        self._pinned.close(edition_id)
        if self._connection is not None and self._edition_id == edition_id:
            self._connection.close()
            self._connection = None

    def _open_best(self, pointer: str) -> duckdb.DuckDBPyConnection:
        """Open the pointed edition, else the newest other one, with a warning."""
        pointed, byte_count = _parse_pointer(pointer)
        others = [item for item in reversed(self.edition_ids()) if item != pointed]
        if pointed is None and not others:
            raise self._nothing_published()
        reason = f"{self.pointer_path}: holds {pointer[:20]!r}, no edition's number"
        for edition_id in others if pointed is None else [pointed, *others]:
            try:
                self._close_replaced(edition_id)
                if edition_id in self._damaged:
                    raise DamagedEdition(self._damaged[edition_id])
                connection = self._open(
                    edition_id, byte_count if edition_id == pointed else 0
                )
            except DamagedEdition as error:
                if self._read_pointer() != pointer:
                    # A load moved on, and dropped this edition, in between.
                    return self._open_best(self._read_pointer())
                reason = str(error) if edition_id == pointed else reason
                continue
            self._warn("" if edition_id == pointed else reason, edition_id)
            self._edition_id = edition_id
            return connection
        raise FirmsetError(f"{reason}; no other can be read: {self._republish()}")

    def _warn(self, reason: str, edition_id: int) -> None:
        self.warning = (
            f"{reason}; edition {edition_id} is shown instead: {self._republish()}"
            if reason
            else ""
        )
        if reason:
            logging.getLogger("firmset").warning("firmset: %s", self.warning)

    def _nothing_published(self) -> FirmsetError:
        if self.is_gone():
            return FirmsetError(
                f"{self.folder}: the store's folder is gone; put it back, or begin "
                "anew with the folder where it is now: --store FOLDER"
            )
        said = f"{self.folder}: no edition is published here"
        if self.folder.is_file():
            return FirmsetError(f"{said}: it is a file; expected a folder")
        return NoEdition(
            f"{said}; load a site's log first: firmset load PATH --store FOLDER"
        )

    def _republish(self) -> str:
        return (
            "load any log again to publish the ledger anew: "
            f"firmset load PATH --store {self.folder}"
        )


def _parse_pointer(pointer: str) -> tuple[int | None, int]:
    """Return the edition's number and its size in bytes; None and 0 where not told."""
    edition_id, _, byte_count = pointer.partition("\n")
    if not edition_id.isdecimal():
        return None, 0
    return int(edition_id), int(byte_count) if byte_count.isdecimal() else 0
