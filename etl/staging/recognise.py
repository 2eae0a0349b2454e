"""What a file is, by its leading bytes first and its name second."""

import struct
import zipfile
from pathlib import Path

from queries.errors import FirmsetError

HEAD_BYTES = 8192
TEXT_SUFFIXES = {
    ".csv": "csv",
    ".txt": "csv",
    ".tsv": "csv",
    ".jsonl": "json lines",
    ".ndjson": "json lines",
    ".json": "json",
    ".geojson": "json",
}
SEND_SHEET = "save the sheet as .xlsx or CSV and send that"
SEND_TABLE = "send the table itself as CSV, .xlsx, JSON Lines or Parquet"

# Leading bytes, what such a file is, what to send instead. Signatures as in the
# formats' own specifications.
_REFUSED: tuple[tuple[bytes, str, str], ...] = (
    (b"%PDF", "a PDF document", SEND_TABLE),
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)", SEND_TABLE),
    (b"\xff\xd8\xff", "a picture (JPEG)", SEND_TABLE),
    (b"GIF87a", "a picture (GIF)", SEND_TABLE),
    (b"GIF89a", "a picture (GIF)", SEND_TABLE),
    (b"II*\x00", "a picture (TIFF)", SEND_TABLE),
    (b"MM\x00*", "a picture (TIFF)", SEND_TABLE),
    (b"{\\rtf", "a text document (RTF)", SEND_TABLE),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive", "unpack it and send the files inside"),
    (b"Rar!\x1a\x07", "a RAR archive", "unpack it and send the files inside"),
    (b"BZh", "packed with bzip2", "unpack it, or pack it with gzip"),
    (b"\xfd7zXZ\x00", "packed with xz", "unpack it, or pack it with gzip"),
    (b"\x28\xb5\x2f\xfd", "packed with zstd", "unpack it, or pack it with gzip"),
    (b"SQLite format 3\x00", "an SQLite database", SEND_TABLE),
)
_PICTURE_BRANDS = (b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"avif", b"heim")
GZIP_START = b"\x1f\x8b"
ZIP_START = b"PK\x03\x04"
# What the library raises on a damaged directory.
ZIP_ERRORS = (
    zipfile.BadZipFile,
    OSError,
    ValueError,
    OverflowError,
    NotImplementedError,
    struct.error,
)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_BYTE_ORDER_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")


def recognise(path: Path, *, is_utf16: bool = False) -> str:
    """Return "csv", "json lines", "json", "xlsx", "parquet" or "gzip".

    `is_utf16`: the site map says so, and half of the bytes may be NUL. Raises
    FirmsetError, which says what the file is and what to send instead; OSError where
    it cannot be opened.
    """
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if not head:
        raise FirmsetError(f"{path}: the file is empty; save it anew, send that")
    _refuse_known(path, head)
    if head.startswith(GZIP_START):
        return "gzip"
    if head.startswith(b"PAR1"):
        return "parquet"
    if head.startswith((ZIP_START, b"PK\x05\x06")):
        return _zip_kind(path)
    if head.startswith(_OLE):
        raise FirmsetError(f"{path}: {_ole_words(path)}")
    return _text_kind(path, head, is_utf16)


def _refuse_known(path: Path, head: bytes) -> None:
    for start, what, instead in _REFUSED:
        if head.startswith(start):
            raise FirmsetError(f"{path}: is {what}, not a log; {instead}")
    if head[4:8] == b"ftyp":
        kind = "a picture (HEIC)" if head[8:12] in _PICTURE_BRANDS else "a video"
        raise FirmsetError(f"{path}: is {kind}, not a log; {SEND_TABLE}")
    # "BM" may begin a text; a bitmap has four zero bytes where it is reserved.
    if head.startswith(b"BM") and head[6:10] == b"\x00\x00\x00\x00":
        raise FirmsetError(f"{path}: is a picture (BMP), not a log; {SEND_TABLE}")


def _zip_kind(path: Path) -> str:
    try:
        with zipfile.ZipFile(path) as archive:
            names = {name.lower() for name in archive.namelist()}
    except ZIP_ERRORS as error:
        raise FirmsetError(
            f"{path}: is a damaged ZIP archive or workbook ({error}); send it again"
        ) from error
    if "xl/workbook.bin" in names:
        raise FirmsetError(f"{path}: is a binary workbook (.xlsb); {SEND_SHEET}")
    if "[content_types].xml" in names and any(name.startswith("xl/") for name in names):
        return "xlsx"
    if "content.xml" in names:
        raise FirmsetError(f"{path}: is an OpenDocument file; {SEND_SHEET}")
    if any(name.startswith("word/") for name in names):
        raise FirmsetError(f"{path}: is a text document; {SEND_TABLE}")
    raise FirmsetError(
        f"{path}: is a ZIP archive, not an .xlsx workbook; unpack it and send the "
        "files inside"
    )


def _ole_words(path: Path) -> str:
    """Tell a protected .xlsx, which is packed into such a file, from an old .xls."""
    marker = "EncryptedPackage".encode("utf-16-le")
    with path.open("rb") as file:
        tail = b""
        while chunk := file.read(1 << 20):
            if marker in tail + chunk:
                return "is protected by a password; save it without one and send that"
            tail = chunk[-len(marker) :]
    return f"is a file of an old office program (.xls or the like); {SEND_SHEET}"


def _text_kind(path: Path, head: bytes, is_utf16: bool) -> str:
    suffix = path.suffix.lower()
    has_mark = head.startswith(_BYTE_ORDER_MARKS)
    if not has_mark and not is_utf16 and _is_binary(head):
        if _seems_utf16(head):
            raise FirmsetError(
                f"{path}: seems to be UTF-16 without a mark; expected so much said in "
                'the site map: encoding = "utf-16" under [files]'
            )
        raise FirmsetError(f"{path}: is a binary file of unknown kind; {SEND_TABLE}")
    # Of UTF-16 half of the bytes are NUL.
    plain = head.translate(None, b"\x00").lstrip(
        b"".join(_BYTE_ORDER_MARKS) + b" \t\r\n"
    )
    start = plain[:64].lower()
    if start.startswith((b"<!doctype html", b"<html", b"<table", b"<?xml")):
        raise FirmsetError(f"{path}: is a web page or XML, not a log; {SEND_SHEET}")
    if suffix in TEXT_SUFFIXES and (
        TEXT_SUFFIXES[suffix] != "json" or start.startswith((b"{", b"["))
    ):
        return TEXT_SUFFIXES[suffix]
    if suffix in (".xlsx", ".xlsm", ".xls", ".parquet"):
        kind = "an .xlsx workbook" if suffix.startswith(".xl") else "a Parquet file"
        raise FirmsetError(
            f"{path}: is text, not {kind}; if it is a table, name it .csv"
        )
    if TEXT_SUFFIXES.get(suffix) == "json":
        raise FirmsetError(
            f"{path}: is no JSON; expected a list of objects, or an object with such a "
            "list in it"
        )
    if start.startswith((b"{", b"[")):
        raise FirmsetError(
            f"{path}: is JSON by its first character; name it .json, or .jsonl where "
            "each line is an object"
        )
    raise FirmsetError(
        f"{path}: cannot read text in files ending in {suffix or 'nothing'}; "
        f"expected {', '.join(TEXT_SUFFIXES)}, or one of these with .gz"
    )


def _seems_utf16(head: bytes) -> bool:
    """Say whether nearly each other byte is NUL, and no other: European text is so."""
    few, many = sorted(head[start::2].count(0) for start in (0, 1))
    return many > 0.4 * len(head) and few < 0.05 * len(head)


def _is_binary(head: bytes) -> bool:
    """Say whether more than a tenth are bytes that no text has. A few NULs are read."""
    control = bytes(set(range(32)) - {9, 10, 12, 13})
    return len(head) - len(head.translate(None, control)) > len(head) / 10
