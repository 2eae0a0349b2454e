"""Text as a spreadsheet saves it: its encoding, and what stands between its cells."""

import codecs
import csv
import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from queries.errors import FirmsetError

DELIMITERS = (",", ";", "\t")
GUESSED = "windows-1252"


@dataclass(frozen=True)
class SavedText:
    """A file's text without a byte-order mark, and Python's name of its encoding."""

    text: str
    encoding: str


def saved_text(path: Path | str, content: bytes) -> SavedText:
    """Return a file's text: UTF-16 by its mark, UTF-8, else Windows-1252.

    FirmsetError where it is none of them; `path` is for its words alone.
    """
    wide = wide_encoding(content)
    for encoding in [wide] if wide else ["utf-8-sig", GUESSED]:
        with suppress(UnicodeDecodeError):
            return SavedText(content.decode(encoding), encoding)
    raise FirmsetError(
        f"{path}: neither UTF-8, UTF-16 nor Windows-1252: expected one of these, as a "
        "spreadsheet saves a CSV"
    )


def wide_encoding(start: bytes) -> str | None:
    """Return the encoding that a file's first bytes tell of; None: no wide one."""
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return None


def header_line(start: bytes) -> str:
    """Return the first line of a text by its first bytes, whatever its encoding."""
    return first_line(start.decode(wide_encoding(start) or "utf-8-sig", "replace"))


def first_line(text: str) -> str:
    """Return a text's first line without its end."""
    return re.split(r"[\r\n]", text, maxsplit=1)[0]


def delimiter_of(line: str) -> str:
    """Return what splits a header line into most cells; a comma where nothing does."""

    def cells(delimiter: str) -> Sequence[str]:
        with suppress(csv.Error):
            return next(csv.reader([line], delimiter=delimiter), [])
        return []

    return max(DELIMITERS, key=lambda delimiter: len(cells(delimiter)))
