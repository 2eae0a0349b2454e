"""A load's progress on a terminal: files done of all, rows, the file loaded now."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from etl.progress import LoadProgress

# Imported where a bar is drawn: a load that nobody watches need not wait for it.
if TYPE_CHECKING:
    from rich.progress import Progress


class WaitNotice(LoadProgress):
    """Says that another load has the store; silent otherwise."""

    def __init__(self, out: TextIO) -> None:
        self._out = out

    def waiting(self, message: str) -> None:
        """Print the message as a line."""
        print(message, file=self._out, flush=True)


class ProgressBar(LoadProgress):
    """Shows a bar on the terminal `progress` draws on."""

    def __init__(self, progress: "Progress") -> None:
        self._progress = progress
        self._task = progress.add_task("", total=None, start=False, rows=0)
        self._rows = 0

    def waiting(self, message: str) -> None:
        """Print the message above the bar."""
        self._progress.console.print(message, markup=False, highlight=False)

    def begun(self, file_count: int) -> None:
        """Give the bar its length."""
        self._progress.start_task(self._task)
        self._progress.update(self._task, total=file_count)

    def loading(self, path: Path) -> None:
        """Name the file."""
        self._progress.update(self._task, description=path.name)

    def loaded(self, rows_read: int) -> None:
        """Move the bar on."""
        self._rows += rows_read
        self._progress.update(self._task, advance=1, rows=self._rows)


@contextmanager
def shown_progress() -> Iterator[LoadProgress]:
    """Yield a bar on stderr where that is a terminal, else one that only says waits.

    Standard output stays free for the receipts.
    """
    if not sys.stderr.isatty():
        yield WaitNotice(sys.stderr)
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("files, {task.fields[rows]:,} rows"),
        TextColumn("{task.description}", markup=False),
    )
    console = Console(stderr=True)
    with Progress(*columns, console=console, transient=True) as progress:
        yield ProgressBar(progress)
