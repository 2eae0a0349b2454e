"""What is on disk for good, whatever happens to the power."""

import os
from pathlib import Path


def force_to_disk(path: Path) -> None:
    """Wait until a file's contents, or a folder's names, are on disk; else OSError."""
    if os.name == "nt" and path.is_dir():  # Windows cannot open a folder for this.
        return
    descriptor = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
