"""What most readers ask first of an edition, weighed before anybody waits for it."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress

import duckdb

from dashboard.address import View
from dashboard.kept import read_kept_choices
from dashboard.pages import LATER, PAGES
from queries.errors import FirmsetError
from queries.judgement import CHECK_NAMES
from queries.opened_files import FileStamp
from queries.selection import Selection
from queries.store import Store

LOOK_EVERY_S = 2.0
# Half of the time is left to those who read meanwhile.
LONGEST_REST_S = 5.0
# Compared for every check; the other pages weigh the same whatever the check.
BY_CHECK = ("/sites", "/crews")

Step = Callable[[duckdb.DuckDBPyConnection], object]


class Warming:
    """A thread that makes the pages of each new edition once, and throws them away.

    What they weighed stays in kept.py, where a reader finds it; who asks for what is
    being weighed waits for it. One step at a time, with a rest as long as the step.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._reading: duckdb.DuckDBPyConnection | None = None
        # The last edition that all steps were made of, and its file.
        self._warmed: tuple[int | None, FileStamp | None] = (None, None)

    @property
    def warmed(self) -> int | None:
        """The number of the last edition that all steps were made of."""
        return self._warmed[0]

    def start(self) -> None:
        """Begin with the current edition, then look for newer ones."""
        self._thread.start()

    def stop(self) -> None:
        """End the thread, in the middle of a question if need be."""
        self._stopped.set()
        # Once a question has ended the next may begin before the thread looks.
        while self._thread.is_alive():
            reading = self._reading
            with suppress(duckdb.Error):  # It may just have ended.
                if reading is not None:
                    reading.interrupt()
            self._thread.join(0.05)

    def _watch(self) -> None:
        while not self._stopped.is_set():
            with suppress(FirmsetError, duckdb.Error):
                newest = self._store.newest()
                if newest != self._warmed and self._warm(newest):
                    self._warmed = newest
            self._stopped.wait(LOOK_EVERY_S)

    def _warm(self, newest: tuple[int | None, FileStamp | None]) -> bool:
        """Make all steps of an edition; False where it was left before the end."""
        with self._store.reader() as con:
            self._reading = con
            try:
                for step in steps():
                    begun = time.monotonic()
                    # What fails is said to whoever asks for it.
                    with suppress(Exception):
                        step(con)
                    rest_s = min(time.monotonic() - begun, LONGEST_REST_S)
                    is_old = self._store.newest() != newest
                    if is_old or self._stopped.wait(rest_s):
                        return False
            finally:
                self._reading = None
        return True


def steps() -> Iterator[Step]:
    """Yield what makes each page, each later part, then the comparisons by check."""
    for _, render in PAGES.values():
        yield _step(render, View())
    for part in LATER.values():
        yield _step(part, View())
    for name in CHECK_NAMES:
        for path in BY_CHECK:
            yield _step(PAGES[path][1], View(Selection(check_names=(name,))))


def _step(render: Callable[..., object], view: View) -> Step:
    return lambda con: render(con, view, read_kept_choices(con))
