"""`firmset load --watch`: load files as they arrive, until told to end."""

import argparse
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import FrameType

from dashboard.terminal.output import complain, legible, print_line
from dashboard.terminal.progress import WaitNotice
from dashboard.terminal.receipts import edition_words, receipt_row, receipt_words
from etl.intake import IntakeResult, load_paths
from etl.watch import Arrivals, FolderWatch, Stamp, list_files
from queries.errors import FirmsetError
from queries.store import Store


class _Stop(WaitNotice):
    """Ends the watch: after the file that is loaded now, or at the next look."""

    def __init__(self) -> None:
        super().__init__(sys.stderr)
        self.told = threading.Event()

    def is_stopped(self) -> bool:
        return self.told.is_set()

    def handle(self, number: int, frame: FrameType | None) -> None:
        """Take a signal; a second one ends at once, and the file is rolled back."""
        if self.told.is_set():
            raise KeyboardInterrupt
        self.told.set()


def watch(args: argparse.Namespace) -> int:
    """Load what is and what comes in the folders; 0 when ended by Ctrl+C or SIGTERM."""
    for path in args.paths:
        if not path.is_dir():
            raise FirmsetError(f"{path}: expected a folder to watch")
    if args.form == "csv":
        raise FirmsetError("--watch --format csv: expected table or json")
    store = Store(args.store)
    stop = _Stop()

    def load(paths: list[Path]) -> IntakeResult:
        return load_paths(
            store,
            paths,
            map_folder=args.maps,
            progress=stop,
            wait_s=args.wait,
            keep_editions=args.keep_editions,
        )

    watched = FolderWatch(store, Arrivals(args.settle), load, complain)
    names = ", ".join(str(path) for path in args.paths)
    with _signals(stop):
        print(f"watching {names} (Ctrl+C ends it)", file=sys.stderr, flush=True)
        _listing(args)  # What cannot be watched at first is no passing trouble.
        while not stop.is_stopped():
            result = watched.look(partial(_listing, args), time.monotonic())
            if result is not None:
                _print(result, args.form)
            stop.told.wait(args.every)
    return 0


def _listing(args: argparse.Namespace) -> dict[Path, Stamp]:
    """List the watched folders, and the site maps where --maps names their folder.

    Then those beside the logs do not count. OSError where a folder may not be read.
    """
    listing = list_files(args.paths)
    if args.maps is None:
        return listing
    maps = list_files([args.maps])
    return {path: found for path, found in listing.items() if not _is_map(path)} | {
        path: found for path, found in maps.items() if _is_map(path)
    }


def _is_map(path: Path) -> bool:
    return path.suffix.lower() == ".toml"


def _print(result: IntakeResult, form: str) -> None:
    """Print a line a file; a batch's edition on its own line, on stderr."""
    for receipt in result.receipts:
        if form == "json":
            print_line(receipt_row(receipt))
        else:
            print(legible(receipt_words(receipt)), flush=True)
    for failure in result.failures:
        complain(failure)
    print(edition_words(result), file=sys.stderr, flush=True)


@contextmanager
def _signals(stop: _Stop) -> Iterator[None]:
    """Let Ctrl+C and SIGTERM tell the watch to end."""
    numbers = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(number, stop.handle) for number in numbers]
    try:
        yield
    finally:
        for number, handler in zip(numbers, before, strict=True):
            signal.signal(number, handler)
