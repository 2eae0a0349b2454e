"""Start the limited process and take over what it wrote."""

import subprocess
import sys
from pathlib import Path

from etl.sandbox.main import FILE_AT_FAULT
from queries.errors import FirmsetError

# Address space, of which some 350 MB are the libraries' own. Allows a sheet with a
# million texts that all differ; rows are written as they are read.
MEMORY_BYTES = 768 * 1024**2
TIMEOUT_S = 120


def parse_apart(
    kind: str, path: Path, folder: Path, *arguments: str, instead: str
) -> list[Path]:
    """Parse a file ("xlsx", "parquet") to Parquet files of texts, in their order.

    They are written into `folder`. `instead` says what to send where the file cannot
    be read; FirmsetError says so with the reason.
    """
    command = [sys.executable, "-P", "-m", "etl.sandbox.main"]
    command += [kind, str(path.resolve()), str(folder), str(MEMORY_BYTES), *arguments]
    try:
        done = subprocess.run(
            command, capture_output=True, timeout=TIMEOUT_S, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise FirmsetError(
            f"{path}: was not read in {TIMEOUT_S} s; {instead}"
        ) from error
    if done.returncode == FILE_AT_FAULT:
        words = done.stderr.decode("utf-8", "replace").splitlines() or [instead]
        raise FirmsetError(f"{path}: {words[-1]}")
    if done.returncode != 0:
        raise FirmsetError(
            f"{path}: cannot be read within {MEMORY_BYTES // 1024**2} MB of memory "
            f"(exit {done.returncode}); {instead}"
        )
    return sorted(folder.glob("part-*.parquet"))
