"""Separated text, record by record, with the row each stands in and what is amiss.

The careful reader, for what DuckDB's fast one does not take: line breaks in cells,
blank lines, rows with too many cells, unclosed quotes, NUL bytes, lone CRs.
"""

import re
from collections import deque
from collections.abc import Iterable, Iterator
from enum import Enum, auto
from typing import NamedTuple

from etl.staging import limits


class Record(NamedTuple):
    """One row: its number counted from 1, its cells, its text, and what is amiss.

    A line break in a quoted cell begins no new row; a blank line is a row. `cells` is
    empty where `fault` says why they cannot be told apart. `line_count` is how many
    lines the record takes.
    """

    row: int
    cells: list[str]
    text: str
    fault: str | None = None
    line_count: int = 1


class _State(Enum):
    COMPLETE = auto()
    OPEN = auto()
    MALFORMED = auto()


class _Splitter:
    """Splits lines with quotes into cells; a cell may be open at a line's end."""

    def __init__(self, delimiter: str) -> None:
        mark = re.escape(delimiter)
        spaces = "" if delimiter == " " else " *"
        self._opening = re.compile(rf'{spaces}"')
        self._quoted = re.compile(r'((?:[^"]++|"")*+)"')
        self._after = re.compile(rf"{spaces}({mark}|\r\n|\r|\n|$)")
        self._plain = re.compile(rf"([^{mark}\r\n]*)({mark}|\r\n|\r|\n|$)")
        self._delimiter = delimiter
        self.cells: list[str] = []
        self._open_parts: list[str] = []

    def begin(self, line: str) -> _State:
        """Split a record's first line."""
        self.cells, self._open_parts = [], []
        return self._cells_from(line, 0)

    def go_on(self, line: str) -> _State:
        """Split a further line; the last one left a quoted cell open."""
        return self._quoted_from(line, 0)

    def _quoted_from(self, line: str, position: int) -> _State:
        found = self._quoted.match(line, position)
        if not found:
            self._open_parts.append(line[position:])
            return _State.OPEN
        self._open_parts.append(found[1])
        after = self._after.match(line, found.end())
        if not after:
            return _State.MALFORMED
        self.cells.append("".join(self._open_parts).replace('""', '"'))
        self._open_parts = []
        if after[1] != self._delimiter:
            return _State.COMPLETE
        return self._cells_from(line, after.end())

    def _cells_from(self, line: str, position: int) -> _State:
        while True:
            opening = self._opening.match(line, position)
            if opening:
                return self._quoted_from(line, opening.end())
            found = self._plain.match(line, position)
            if not found:  # pragma: no cover - the pattern takes any text
                return _State.MALFORMED
            self.cells.append(found[1])
            if found[2] != self._delimiter:
                return _State.COMPLETE
            position = found.end()


def records_of(lines: Iterable[tuple[str, int]], delimiter: str) -> Iterator[Record]:
    """Yield the records of lines with their lengths; none is lost, none merged.

    A quote that is not closed within what a cell can hold, or whose end is followed by
    more text, makes a fault of its own line; reading goes on at the line after it.
    """
    source = _Lines(lines)
    short = limits.MAX_CELL_CHARACTERS
    splitter = _Splitter(delimiter)
    for row, (line, length) in enumerate(source, start=1):
        bare = line.rstrip("\r\n")
        if length <= short and '"' not in line and "\x00" not in line:
            yield Record(row, bare.split(delimiter), bare)
        elif length > len(line):
            fault = (
                f"a line of {length} characters, over {limits.MAX_LINE_CHARACTERS}; "
                "its beginning is kept"
            )
            yield Record(row, [], bare, fault)
        elif "\x00" in line:
            text = bare.replace("\x00", "\N{SYMBOL FOR NULL}")
            count = line.count("\x00")
            yield Record(row, [], text, f"NUL bytes in the line: {count}, shown as ␀")
        elif '"' not in line:
            yield _checked(Record(row, bare.split(delimiter), bare))
        else:
            yield _checked(_quoted_record(row, line, source, splitter))


class _Lines:
    """Lines that can be given back."""

    def __init__(self, lines: Iterable[tuple[str, int]]) -> None:
        self._rest = iter(lines)
        self._returned: deque[tuple[str, int]] = deque()

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> tuple[str, int]:
        return self._returned.popleft() if self._returned else next(self._rest)

    def give_back(self, lines: list[tuple[str, int]]) -> None:
        self._returned.extendleft(reversed(lines))


def _quoted_record(row: int, line: str, source: _Lines, splitter: _Splitter) -> Record:
    state = splitter.begin(line)
    taken: list[tuple[str, int]] = []
    characters = len(line)
    while state is _State.OPEN and characters <= limits.MAX_CELL_CHARACTERS:
        following = next(source, None)
        if following is None:
            break
        taken.append(following)
        if following[1] > len(following[0]) or "\x00" in following[0]:
            break
        characters += following[1]
        state = splitter.go_on(following[0])
    if state is _State.COMPLETE:
        text = "".join([line, *(part for part, _ in taken)]).rstrip("\r\n")
        return Record(row, splitter.cells, text, line_count=1 + len(taken))
    source.give_back(taken)
    fault = "a quote that is not closed, or text after a closing quote"
    return Record(row, [], line.rstrip("\r\n"), fault)


def _checked(record: Record) -> Record:
    """Make a fault of a cell that is longer than any spreadsheet's."""
    if record.fault or len(record.text) <= limits.MAX_CELL_CHARACTERS:
        return record
    longest = max(map(len, record.cells))
    if longest <= limits.MAX_CELL_CHARACTERS:
        return record
    fault = (
        f"a cell of {longest} characters, expected at most {limits.MAX_CELL_CHARACTERS}"
    )
    return Record(record.row, [], record.text, fault, record.line_count)
