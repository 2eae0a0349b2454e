"""Unpack a gzip file next to nothing it could harm, within limits."""

import gzip
import zlib
from pathlib import Path

from etl.staging import limits
from queries.errors import FirmsetError


def unpack_gzip(path: Path, target: Path) -> None:
    """Write what is in a gzip file to `target`; FirmsetError where it cannot be."""
    packed_bytes = max(path.stat().st_size, 1)
    written = 0
    try:
        with gzip.open(path) as source, target.open("wb") as unpacked:
            while chunk := source.read(1 << 20):
                written += len(chunk)
                _check(path, written, packed_bytes)
                unpacked.write(chunk)
    except (EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise FirmsetError(
            f"{path}: is a damaged gzip file ({error}); send it again"
        ) from error


def _check(path: Path, written: int, packed_bytes: int) -> None:
    if written > limits.MAX_UNPACKED_BYTES:
        raise FirmsetError(
            f"{path}: unpacks to more than {limits.MAX_UNPACKED_BYTES // 1024**3} GiB; "
            "send it in parts"
        )
    if (
        written > limits.PACKING_RATIO_FLOOR_BYTES
        and written > packed_bytes * limits.MAX_PACKING_RATIO
    ):
        raise FirmsetError(
            f"{path}: unpacks to more than {limits.MAX_PACKING_RATIO} times its size, "
            "as no log does; send it unpacked"
        )
