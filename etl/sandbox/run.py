"""Start the limited process and take over what it wrote."""

import os
import subprocess
import sys
from pathlib import Path

from etl.sandbox.main import FILE_AT_FAULT
from queries.errors import FirmsetError

# Address space. A sheet's rows are written as they are read: what it takes is its
# shared texts, some two million short ones. DuckDB, for Parquet, reserves much more
# than it uses.
MEMORY_BYTES = {"xlsx": 384 * 1024**2, "parquet": 768 * 1024**2}
# A million cells take some 8 s.
TIMEOUT_S = 300


def parse_apart(
    kind: str, path: Path, folder: Path, decimal: str, sheet: str = "", *, instead: str
) -> None:
    """Parse a file ("xlsx", "parquet") to files of texts in `folder`.

    `instead` says what to send where the file cannot be read; FirmsetError says so
    with the reason.
    """
    command = [sys.executable, "-P", "-m", "etl.sandbox.main"]
    command += [
        kind,
        str(path.resolve()),
        str(folder),
        str(MEMORY_BYTES[kind]),
        decimal,
        sheet,
    ]
    try:
        done = subprocess.run(
            command,
            capture_output=True,
            timeout=TIMEOUT_S,
            check=False,
            # -P keeps the working folder out; the house is found installed or not.
            env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
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
            f"{path}: cannot be read within {MEMORY_BYTES[kind] // 1024**2} MB of "
            f"memory (exit {done.returncode}); {instead}"
        )
