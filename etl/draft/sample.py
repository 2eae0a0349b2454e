"""The first rows of a file as texts, before anybody has said how it is to be read.

Only so much of a file is looked at as fits a fixed amount of memory.
"""

import codecs
import csv
import gzip
import io
import json
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Literal, cast

import duckdb

from etl.site_map import SiteMap
from etl.staging import stage_file
from etl.staging.json_records import Document, first_records
from etl.staging.recognise import GZIP_START, HEAD_BYTES, TEXT_SUFFIXES, recognise
from queries.errors import FirmsetError
from queries.json_names import is_list_of_objects, leaves

Kind = Literal["text", "json", "workbook", "parquet"]
Rows = list[list[str]]

MAX_ROWS = 2_000
MAX_BYTES = 4 * 1024**2
MAX_COLUMNS = 500

_KINDS: dict[str, Kind] = {
    "csv": "text",
    "json lines": "json",
    "json": "json",
    "xlsx": "workbook",
    "parquet": "parquet",
}


@dataclass(frozen=True)
class Layout:
    """How a file's rows are found; what does not concern its kind is not looked at.

    `decimal` is the sign with which numbers that are stored as such are written.
    """

    encoding: str = "utf-8"
    delimiter: str = ","
    sheet: str | None = None
    records: str | None = None
    decimal: str = "."


def kind_of(path: Path) -> Kind:
    """Return what a file is by its bytes, as a load does, or packed by its name.

    FirmsetError where it is no log, with what to send instead.
    """
    is_packed = path.suffix.lower() == ".gz"
    if not is_packed:
        head = first_bytes(path, HEAD_BYTES)
        # As encoding_of tells UTF-16, of which half of the bytes may be NUL.
        found = recognise(path, is_utf16=head.count(0) > len(head) // 5)
        if found != "gzip":
            return _KINDS[found]
    name = path.stem if is_packed else path.name
    suffix = Path(name).suffix.lower()
    if suffix not in TEXT_SUFFIXES:
        raise FirmsetError(
            f"{path}: is packed with gzip, which only {', '.join(TEXT_SUFFIXES)} may be"
        )
    return _KINDS[TEXT_SUFFIXES[suffix]]


def read_rows(path: Path, layout: Layout, limit: int = MAX_ROWS) -> Rows:
    """Return the first rows of a file, the row of column names among them.

    Row n of the result is row n of a text or sheet; a blank cell is "". JSON Lines and
    Parquet give their keys or names as the first row. Raises FirmsetError where the
    file cannot be read so.
    """
    match kind_of(path):
        case "text":
            rows = _text_rows(path, layout, limit)
        case "json":
            rows = _json_rows(path, layout, limit)
        case "workbook" | "parquet":
            rows = _staged_rows(path, layout, limit)
    return [row[:MAX_COLUMNS] for row in rows]


def first_bytes(path: Path, count: int = MAX_BYTES) -> bytes:
    """Return the first bytes of a file, unpacked where it is gzip."""
    try:
        with _opened(path) as file:
            return file.read(count)
    except (OSError, EOFError, zlib.error) as error:
        raise FirmsetError(f"{path}: cannot be read: {error}") from error


def chunks(path: Path, size: int = 1 << 20) -> Iterator[bytes]:
    """Yield a file's bytes in order, unpacked where it is gzip."""
    try:
        with _opened(path) as file:
            while chunk := file.read(size):
                yield chunk
    except (OSError, EOFError, zlib.error) as error:
        raise FirmsetError(f"{path}: cannot be read: {error}") from error


def _opened(path: Path) -> IO[bytes]:
    file = path.open("rb")
    if path.suffix.lower() != ".gz" and file.peek(2)[:2] != GZIP_START:
        return file
    file.close()
    return cast(IO[bytes], gzip.open(path, "rb"))


def text_lines(path: Path, encoding: str) -> io.StringIO:
    """Return the file's beginning as text; a line that was cut off is left out."""
    content = first_bytes(path)
    is_cut = len(content) == MAX_BYTES
    try:
        decoder = codecs.getincrementaldecoder(_codec(encoding, content))()
        text = decoder.decode(content, final=not is_cut)
    except UnicodeError as error:
        raise FirmsetError(f"{path}: cannot be read as {encoding}: {error}") from error
    if is_cut:
        text = text[: text.rfind("\n") + 1] or text
    return io.StringIO(text, newline="")


def _codec(encoding: str, content: bytes) -> str:
    """Return Python's name of an encoding; UTF-16 without a mark as a load reads it."""
    is_marked = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    if encoding != "utf-16" or is_marked:
        return "utf-8-sig" if encoding == "utf-8" else encoding
    return "utf-16-be" if content[:1] == b"\0" else "utf-16-le"


def _text_rows(path: Path, layout: Layout, limit: int) -> Rows:
    reader = csv.reader(
        text_lines(path, layout.encoding), delimiter=layout.delimiter, strict=False
    )
    try:
        return [
            [cell.strip() for cell in row]
            for row, _ in zip(reader, range(limit), strict=False)
        ]
    except csv.Error as error:
        raise FirmsetError(
            f"{path}: row {reader.line_num}: cannot be read as separated text: {error}"
        ) from error


def _json_rows(path: Path, layout: Layout, limit: int) -> Rows:
    records = []
    lines = _json_texts(path, layout)
    for line, _ in zip(lines, range(limit), strict=False):
        try:
            record = json.loads(line)
            if isinstance(record, dict):
                records.append(_named(record))
        except (ValueError, RecursionError):
            continue  # A load reports the line; here the others show the keys.
    keys = list(dict.fromkeys(key for record in records for key in record))
    return [
        keys,
        *(
            [_json_text(record.get(key), layout.decimal) for key in keys]
            for record in records
        ),
    ]


def _json_texts(path: Path, layout: Layout) -> Iterable[str]:
    """Return the lines of JSON Lines, or of a document the records that are whole."""
    text = text_lines(path, layout.encoding)
    if not _is_document(path):
        return text
    return first_records(text.getvalue(), layout.records)[1]


def json_document(path: Path) -> Document | None:
    """Return what the beginning of a JSON document holds; None of JSON Lines.

    What is said beside the records is text there, as a column's cells are.
    """
    if not _is_document(path):
        return None
    document, _ = first_records(text_lines(path, "utf-8").getvalue())
    said = {name: json.loads(text) for name, text in document.said.items()}
    texts = {name: _json_text(value, ".") for name, value in said.items()}
    return replace(document, said=texts)


def _is_document(path: Path) -> bool:
    suffix = Path(path.name.lower().removesuffix(".gz")).suffix
    return TEXT_SUFFIXES.get(suffix) == "json"


def _named(record: dict[str, object]) -> dict[str, object]:
    """Return a line's values by name; of a list of objects, only theirs."""
    return {
        name: value for name, value in leaves(record) if not is_list_of_objects(value)
    }


def _json_text(value: object, decimal: str) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return json.dumps(value).replace(".", decimal)
    return value.strip() if isinstance(value, str) else json.dumps(value)


def _staged_rows(path: Path, layout: Layout, limit: int) -> Rows:
    """Read a file the way a load does: in a process of its own, with its limits."""
    any_map = SiteMap(
        path=path,
        sha256="",
        site_code="",
        site_name="",
        time_zone="UTC",
        match="",
        columns=(),
        sheet=layout.sheet,
        decimal=layout.decimal,
    )
    with duckdb.connect() as con:
        staged = stage_file(con, path, any_map)
        cells = ", ".join(f"c{i + 1}" for i in range(len(staged.headers)))
        found = con.execute(
            f"select {staged.row_sql} - {staged.first_row}, {cells} from staged_row "
            "order by rowid limit ?",
            [limit - 1],
        ).fetchall()
    # Staging names a blank header by its place.
    first = [
        "" if header == f"column {place}" else header
        for place, header in enumerate(staged.headers, start=1)
    ]
    blank = [""] * len(first)
    by_place = {place: [(cell or "").strip() for cell in row] for place, *row in found}
    last = min(max(by_place, default=-1), limit - 2)
    return [first, *(by_place.get(place, blank) for place in range(last + 1))]
