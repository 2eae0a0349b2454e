"""A list of JSON objects, as programs export it: each becomes a line of JSON Lines."""

import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from etl.staging import limits
from etl.staging.text import decoded_chunks
from queries.errors import FirmsetError

_DECODER = json.JSONDecoder()
_BLANKS = " \t\r\n"
_NO_BLANK = re.compile(rf"[^{_BLANKS}]")
_ENDS = {*_BLANKS, ",", "]"}


def write_as_lines(path: Path, source: Path, target: Path, encoding: str) -> None:
    """Write the list's records as JSON Lines, record n as line n.

    `path` is the file that was sent, `source` what it holds, perhaps unpacked. Raises
    FirmsetError where it is no list to its end, as of a file that was cut off.
    """
    chunks = decoded_chunks(path, source, encoding)
    with target.open("w", encoding="utf-8-sig", newline="\n") as lines:
        try:
            for record in records_of_list(chunks):
                lines.write(f"{record}\n")
        except ValueError as error:
            raise FirmsetError(f"{path}: {error}; send it again") from error


def records_of_list(chunks: Iterable[str]) -> Iterator[str]:
    """Yield the text of each record on one line; ValueError where there is no list.

    No more is held than a record and a chunk.
    """
    text = _Text(chunks)
    text.take("[", "expected a list of records, in [ ]")
    number = 1
    if not text.takes("]"):
        while True:
            yield text.record(number)
            if text.takes("]"):
                break
            number += 1
            text.take(",", f"expected a comma before record {number}, or the list's ]")
    if text.skip_blanks():
        raise ValueError(f"text after the list's ], behind record {number}")


class _Text:
    """Text that comes in chunks, of which what was taken is let go."""

    def __init__(self, chunks: Iterable[str]) -> None:
        self._chunks = iter(chunks)
        self._held = ""
        self._at = 0

    def _more(self) -> bool:
        chunk = next(self._chunks, "")
        if chunk:
            self._held = self._held[self._at :] + chunk
            self._at = 0
        return chunk != ""

    def skip_blanks(self) -> str:
        """Go to the next sign and return it; "" where there is none."""
        while True:
            found = _NO_BLANK.search(self._held, self._at)
            self._at = found.start() if found else len(self._held)
            if found or not self._more():
                return found.group() if found else ""

    def takes(self, sign: str) -> bool:
        """Take a sign if it is the next one."""
        is_next = self.skip_blanks() == sign
        self._at += is_next
        return is_next

    def take(self, sign: str, expected: str) -> None:
        """Take a sign that has to be the next one."""
        if not self.takes(sign):
            found = self.skip_blanks()
            raise ValueError(
                f"found {repr(found) if found else 'the end of the file'}, {expected}"
            )

    def record(self, number: int) -> str:
        """Take a value, which may be of any kind."""
        self.skip_blanks()
        while True:
            try:
                _, end = _DECODER.raw_decode(self._held, self._at)
                # A number may go on, even behind its point, in the next chunk.
                is_ended = self._held[end : end + 1] in _ENDS
                if is_ended or not self._more():
                    break
            except (ValueError, RecursionError) as error:
                is_long = len(self._held) - self._at > limits.MAX_LINE_CHARACTERS
                if is_long or isinstance(error, RecursionError) or not self._more():
                    raise ValueError(f"record {number} is not whole JSON") from error
        record = self._held[self._at : end]
        self._at = end
        return record.translate(_ON_ONE_LINE)


# Line breaks in a text would not be JSON: these stand between its values.
_ON_ONE_LINE = str.maketrans(dict.fromkeys("\r\n", " "))
