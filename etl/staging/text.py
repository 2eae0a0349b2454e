"""Text files: their encoding, and their lines with limits on length."""

import codecs
import io
from collections.abc import Generator, Iterator
from pathlib import Path

from etl.site_map import SiteMap
from etl.staging import limits
from queries.errors import FirmsetError

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
CHUNK_BYTES = 1 << 20


def encoding_of(path: Path, site_map: SiteMap) -> str:
    """Return Python's name of a file's encoding: by its mark, else as the map says."""
    with path.open("rb") as file:
        head = file.read(4)
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            return encoding
    if site_map.encoding == "utf-16":
        return "utf-16-be" if head[:1] == b"\x00" else "utf-16-le"
    return site_map.encoding


def write_as_utf8(path: Path, source: Path, target: Path, encoding: str) -> None:
    """Write a text file anew in UTF-8; FirmsetError names the line that is not text.

    `path` is the file that was sent, `source` what it holds, perhaps unpacked.
    """
    with target.open("wb") as decoded:
        for text in decoded_chunks(path, source, encoding):
            decoded.write(text.encode("utf-8"))


def decoded_chunks(path: Path, source: Path, encoding: str) -> Iterator[str]:
    """Yield a file's text piece by piece; FirmsetError names the line that is none."""
    # Keeps a CR back until it is known whether an LF follows: the two are one break.
    decoder = io.IncrementalNewlineDecoder(
        codecs.getincrementaldecoder(encoding)(), translate=False
    )
    lines = 1
    with source.open("rb") as file:
        while True:
            chunk = file.read(CHUNK_BYTES)
            try:
                text = decoder.decode(chunk, final=not chunk)
            except UnicodeError as error:
                raise _not_text(path, encoding, lines, error) from error
            lines += _line_breaks(text)
            yield text
            if not chunk:
                return


def _line_breaks(text: str) -> int:
    """Count the line breaks: CR, LF or both."""
    return text.count("\n") + text.count("\r") - text.count("\r\n")


def _not_text(
    path: Path, encoding: str, lines: int, error: UnicodeError
) -> FirmsetError:
    shown = encoding.removesuffix("-sig")
    before, value = "", ""
    if isinstance(error, UnicodeDecodeError):
        before = error.object[: error.start].decode(encoding, "replace")
        value = f" (bytes {error.object[error.start : error.end].hex(' ')})"
    return FirmsetError(
        f"{path}: line {lines + _line_breaks(before)} cannot be read as {shown}"
        f"{value}; write the file's encoding into its site map"
    )


def lines_of(source: Path) -> Generator[tuple[str, int], None, None]:
    """Yield each line of a UTF-8 file with its break, and how long it was.

    A line over MAX_LINE_CHARACTERS is cut there; the second value tells.
    """
    limit = limits.MAX_LINE_CHARACTERS
    with source.open(encoding="utf-8-sig", newline="") as file:
        while line := file.readline(limit):
            length = len(line)
            if length == limit and line[-1] not in "\r\n":
                while rest := file.readline(limit):
                    length += len(rest)
                    if rest[-1] in "\r\n":
                        break
            yield line, length
