"""The records of a JSON document, as programs export it, as lines of JSON Lines.

They stand in its list, or in a list somewhere in its object, as {"form": {...}, "rows":
[...]}. What the object says beside that list, it says of each record: it is given to
each, named by its JSON Pointer (RFC 6901), "/form/date", which no key of the record is.
"""

import json
import re
from collections.abc import Callable, Collection, Container, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from etl.site_map import SiteMap
from etl.staging import limits
from etl.staging.text import decoded_chunks
from queries.errors import FirmsetError
from queries.json_names import MOST_WITHIN

# The pointer of the document itself: of its list, or of the object as the one record.
WHOLE = ""
_DECODER = json.JSONDecoder()
_BLANKS = " \t\r\n"
_NO_BLANK = re.compile(rf"[^{_BLANKS}]")
# What may stand behind the digits of a number that the next chunk goes on with.
_MAY_GO_ON = re.compile(r"[.eE+-]{0,3}")
_EMPTY = "[]"
_MOST_NAMED = 6
_MOST_LISTS = 1000


@dataclass
class Document:
    """Where a document has lists of records, and what stands beside them.

    `lists`: the pointers of the lists; WHOLE where the document is one itself. `said`:
    the JSON text of each other value of an object, by its pointer, of the pointers
    `names` (None: of all).
    """

    names: Container[str] | None = None
    lists: list[str] = field(default_factory=list)
    said: dict[str, str] = field(default_factory=dict)

    def note(self, pointer: str, text: str) -> None:
        """Keep what stands at a pointer, if it is one of the names."""
        if self.names is None or pointer in self.names:
            self.require_new(pointer)
            self.said[pointer] = text

    def require_new(self, pointer: str) -> None:
        """Raise ValueError for a key that stands twice: it does not say which it is."""
        if pointer in self.said or pointer in self.lists:
            raise ValueError(f"the key {pointer!r} stands twice; send it again")

    @property
    def pointers(self) -> tuple[str, ...]:
        """Return the pointers of the lists; of an object without one, its own."""
        return tuple(self.lists) or (WHOLE,)


def write_as_lines(
    path: Path, source: Path, target: Path, encoding: str, site_map: SiteMap
) -> None:
    """Write the records as JSON Lines, record n as line n.

    With what the site map reads of what stands beside them. `path` is the file that was
    sent, `source` what it holds, perhaps unpacked. Raises FirmsetError where it is not
    whole, as of a file that was cut off, or where no list or no one list is meant.
    """

    def read() -> Iterable[str]:
        return decoded_chunks(path, source, encoding)

    with target.open("w", encoding="utf-8-sig", newline="\n") as lines:
        try:
            for line in records_of(read, site_map.records, site_map.headers_read):
                lines.write(f"{line}\n")
        except ValueError as error:
            raise FirmsetError(f"{path}: {error}") from error


def records_of(
    read: Callable[[], Iterable[str]],
    wanted: str | None = None,
    names: Collection[str] = (),
) -> Iterator[str]:
    """Yield the text of each record on one line; ValueError where there is none.

    `read` gives the document's text from its beginning, `wanted` is the pointer of the
    records, None where the document has to have one list of them; what stands at the
    pointers `names` is given to each. No more is held than a record and a chunk: an
    object is read twice, as what it says behind its records is theirs too.
    """
    text = _Text(read())
    if text.skip_blanks() == "[" and not wanted:
        for _, record in _walk(text, Document(())):
            yield record
        return
    document = Document({*names, wanted or WHOLE})
    for _ in _walk(_Text(read()), document):
        pass
    pointer = _wanted(document, wanted)
    if pointer == WHOLE:
        yield _on_one_line(text.value("record 1"))
        return
    for at, record in _walk(text, Document(())):
        if at == pointer:
            yield _with_said(record, document.said)


def first_records(text: str, wanted: str | None = None) -> tuple[Document, list[str]]:
    """Return what the beginning of a document holds, and its records.

    Those of the pointer `wanted`, or of the first one. A document that is cut off has
    what stands before; of an object that is its own record, nothing does.
    """
    document, found = Document(), list[tuple[str, str]]()
    with suppress(ValueError):
        for one in _walk(_Text([text]), document):
            found.append(one)
    pointer = document.pointers[0] if wanted is None else wanted
    if pointer == WHOLE and WHOLE not in document.lists:
        return document, [text]
    return document, [record for at, record in found if at == pointer]


def _wanted(document: Document, wanted: str | None) -> str:
    """Return the pointer of the records; ValueError where it is not said or not there.

    An empty list may be meant, where the map says so: it is one of no records.
    """
    lists = " and ".join(map(repr, [*document.lists][:_MOST_NAMED]))
    if wanted is None:
        if len(document.lists) > 1:
            raise ValueError(
                f"has lists of records at {lists}; expected one, or [files] records in "
                f"the site map that says which, as records = "
                f'"{document.pointers[0]}"'
            )
        return document.pointers[0]
    is_empty = document.said.get(wanted) == _EMPTY
    if wanted == WHOLE or wanted in document.lists or is_empty:
        return wanted
    where = f"lists of records at {lists}" if lists else "no list of records"
    if WHOLE in document.lists:
        where = "a list that is in no object"
    raise ValueError(
        f"has no list of records at {wanted!r}, where [files] records of the site map "
        f"expects it; found {where}"
    )


def _with_said(record: str, said: dict[str, str]) -> str:
    """Return a record's line with what is said of it; of no object, the line."""
    beside = ", ".join(
        f"{json.dumps(name, ensure_ascii=False)}: {value}"
        for name, value in said.items()
    )
    rest = record.removeprefix("{")
    if rest == record or not beside:
        return record
    comma = "" if rest.lstrip(_BLANKS).startswith("}") else ", "
    return f"{{{beside}{comma}{rest}"


def _walk(text: "_Text", document: Document) -> Iterator[tuple[str, str]]:
    """Yield each record with the pointer of its list; note in `document` what else is.

    Raises ValueError where the document is no list or object to its end.
    """
    sign = text.skip_blanks()
    if sign not in ("{", "["):
        raise ValueError("is no JSON list or object of records")
    yield from _value(text, WHOLE, document, 0)
    if text.skip_blanks():
        raise ValueError(
            f"text after the {'object' if sign == '{' else 'list'} that it begins "
            "with; expected nothing there, or JSON Lines, an object a line, in a file "
            "that ends in .jsonl"
        )


def _value(
    text: "_Text", pointer: str, document: Document, depth: int
) -> Iterator[tuple[str, str]]:
    sign = text.skip_blanks()
    if sign == "{" and depth <= MOST_WITHIN:
        yield from _object(text, pointer, document, depth)
    elif sign == "[":
        yield from _some_list(text, pointer, document)
    else:
        value = _on_one_line(text.value(f"the value of {pointer!r}"))
        document.note(pointer, value)


def _object(
    text: "_Text", pointer: str, document: Document, depth: int
) -> Iterator[tuple[str, str]]:
    text.take("{", "expected an object")
    if text.takes("}"):
        return
    while True:
        key = json.loads(text.value(f"a key in {pointer!r}"))
        if not isinstance(key, str):
            raise ValueError(
                f"the key {key!r} in {pointer!r} is no text; send it again"
            )
        text.take(":", f"expected a colon behind the key {key!r}")
        escaped = key.replace("~", "~0").replace("/", "~1")
        yield from _value(text, f"{pointer}/{escaped}", document, depth + 1)
        if text.takes("}"):
            return
        text.take(",", f"expected a comma behind {pointer + '/' + escaped!r}, or }}")


def _some_list(
    text: "_Text", pointer: str, document: Document
) -> Iterator[tuple[str, str]]:
    """Yield the records of a list; one without any object is a value, not records."""
    values, size = list[str](), 0
    document.require_new(pointer)
    for record in _list(text, pointer):
        if pointer == WHOLE or record.startswith("{") or pointer in document.lists:
            yield from ((pointer, value) for value in values)
            if pointer not in document.lists:
                document.lists.append(pointer)
            values = []
            yield pointer, record
            continue
        values.append(record)
        size += len(record)
        if size > limits.MAX_LINE_CHARACTERS:
            raise ValueError(
                f"a list of values at {pointer!r} of over "
                f"{limits.MAX_LINE_CHARACTERS} characters"
            )
    if pointer not in document.lists:
        document.note(pointer, f"[{', '.join(values)}]")
    elif len(document.lists) > _MOST_LISTS:
        raise ValueError(f"over {_MOST_LISTS} lists of records")


def _list(text: "_Text", pointer: str) -> Iterator[str]:
    """Yield the text of each value of a list."""
    where = f" at {pointer!r}" if pointer else ""
    text.take("[", "expected a list of records, in [ ]")
    if text.takes("]"):
        return
    place = 1
    while True:
        yield _on_one_line(text.value(f"record {place}{where}"))
        if text.takes("]"):
            return
        place += 1
        text.take(
            ",", f"expected a comma before record {place}{where}, or the list's ]"
        )


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
            what = repr(found) if found else "the end of the file"
            raise ValueError(f"found {what}, {expected}; send it again")

    def value(self, which: str) -> str:
        """Take a value of any kind and return its text; `which` it is, for a fault."""
        self.skip_blanks()
        while True:
            try:
                _, end = _DECODER.raw_decode(self._held, self._at)
                # A number may go on, even behind its point, in the next chunk.
                if not _MAY_GO_ON.fullmatch(self._held, end) or not self._more():
                    break
            except (ValueError, RecursionError) as error:
                is_long = len(self._held) - self._at > limits.MAX_LINE_CHARACTERS
                if is_long or isinstance(error, RecursionError) or not self._more():
                    raise ValueError(
                        f"{which} is not whole JSON; send it again"
                    ) from error
        text = self._held[self._at : end]
        self._at = end
        return text


# Line breaks in a text would not be JSON: these stand between its values.
_LINE_BREAKS = str.maketrans(dict.fromkeys("\r\n", " "))


def _on_one_line(text: str) -> str:
    return text.translate(_LINE_BREAKS)
