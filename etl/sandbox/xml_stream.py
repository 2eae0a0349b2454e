"""XML out of a ZIP archive, as a stream, without entities of the sender's own."""

import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol
from xml.parsers import expat

CHUNK_BYTES = 1 << 18
# ECMA-376 part 2 (Open Packaging Conventions; from memory) allows these two.
ENCODINGS = ("UTF-8", "UTF-16")

# An element's name without its prefix, and its attributes.
Element = tuple[str, dict[str, str]]


class _Start(Protocol):
    def __call__(self, name: str, attributes: dict[str, str], /) -> None: ...


class _Text(Protocol):
    def __call__(self, text: str, /) -> None: ...


@dataclass(frozen=True)
class Handlers:
    """What is called at an element's start, at its end (its name), at its text."""

    start: _Start
    end: _Text
    text: _Text


def feed(archive: zipfile.ZipFile, name: str, handlers: Handlers) -> Iterator[None]:
    """Parse an entry, yielding after each piece; ValueError where it is no XML."""
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = handlers.start
    parser.EndElementHandler = handlers.end
    parser.CharacterDataHandler = handlers.text
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.XmlDeclHandler = _check_encoding
    try:
        with archive.open(name) as entry:
            while chunk := entry.read(CHUNK_BYTES):
                parser.Parse(chunk, False)
                yield
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise ValueError(
            f"is a damaged workbook ({name}: {error}); send it again"
        ) from error


def _check_encoding(_: str, encoding: str | None, __: int) -> None:
    # Others need a codec, which may be none for bytes, or unknown.
    if encoding is not None and encoding.upper() not in ENCODINGS:
        raise ValueError(
            f"is a damaged workbook (its XML declares the encoding {encoding!r}; "
            f"expected {' or '.join(ENCODINGS)}); send it again"
        )


def _refuse_doctype(*_: object) -> None:
    raise ValueError("is no plain workbook: its XML declares a document type")


def local_name(name: str) -> str:
    """Return an element's name without its prefix."""
    return name.rpartition(":")[2]


def collect(
    archive: zipfile.ZipFile, name: str, wanted: tuple[str, ...]
) -> list[Element]:
    """Return the elements of these names in an entry, in their order."""
    found: list[Element] = []

    def start(element: str, attributes: dict[str, str]) -> None:
        if local_name(element) in wanted:
            found.append((local_name(element), attributes))

    def ignore(_: str) -> None:
        return None

    for _ in feed(archive, name, Handlers(start, ignore, ignore)):
        pass
    return found
