"""Which file each edition was opened from, and how many read it.

DuckDB has one database a path: while anything of it is open, whoever opens the path
again is given that database, whatever file lies there by then. A load never puts an
edition in the place of another, but a store made anew in the same folder, or a backup
that is copied back, does.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class FileStamp:
    """What tells a file from another of the same name; not what links to it."""

    device: int
    inode: int
    byte_count: int
    mtime_ns: int


def stamp_of(path: Path) -> FileStamp | None:
    """Return the stamp of a file as it is now; None where there is none."""
    try:
        stat = path.stat()
    except OSError:
        return None
    return FileStamp(stat.st_dev, stat.st_ino, stat.st_size, stat.st_mtime_ns)


class OpenedFiles:
    """The files that a store's editions were last opened from; not safe by itself."""

    def __init__(self, path_of: Callable[[int], Path]) -> None:
        self._path_of = path_of
        self._stamps: dict[int, FileStamp | None] = {}
        self._readers: Counter[int] = Counter()

    def note(self, edition_id: int) -> None:
        """Note an edition's file, before it is opened."""
        self._stamps[edition_id] = stamp_of(self._path_of(edition_id))

    def is_replaced(self, edition_id: int) -> bool:
        """Say whether another file lies where an edition was opened.

        One that is gone is not replaced: it is read to the end.
        """
        noted = self._stamps.get(edition_id)
        found = stamp_of(self._path_of(edition_id)) if noted else None
        return found not in (None, noted)

    def hold(self, edition_id: int) -> None:
        """Count one more reader of an edition."""
        self._readers[edition_id] += 1

    def release(self, edition_id: int) -> None:
        """Count one reader less."""
        self._readers[edition_id] -= 1

    def is_held(self, edition_id: int) -> bool:
        """Say whether anybody reads an edition."""
        return self._readers[edition_id] > 0
