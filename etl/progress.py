"""What a load tells while it runs; it need not know who listens."""

from pathlib import Path


class LoadProgress:
    """Hears of a load's progress and may stop it; this one is silent and never does."""

    def waiting(self, message: str) -> None:
        """Hear, once, that another load has the store."""

    def begun(self, file_count: int) -> None:
        """Hear how many files there are."""

    def loading(self, path: Path) -> None:
        """Hear which file is loaded now."""

    def loaded(self, rows_read: int) -> None:
        """Hear that it is done, with its rows (0 where it failed)."""

    def is_stopped(self) -> bool:
        """Say whether to stop before the next file; what is loaded is published."""
        return False


QUIET = LoadProgress()
