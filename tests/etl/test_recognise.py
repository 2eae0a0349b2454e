"""A file is what its bytes say; what is no log is refused with what to send instead.

Leading bytes as in the formats' specifications (PNG, TIFF 6.0, PDF, RFC 1952, MS-CFB,
ISO 14496-12), written from memory.
"""

import gzip
import io
import json
import zipfile
from pathlib import Path

import duckdb
import pytest

from etl.staging import limits
from tests.etl.taking import HEADER, line, take

Ledger = duckdb.DuckDBPyConnection
TEXT = f"{HEADER}\n{line(1, 'größer')}\n"
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504)


def zipped(*names: str) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name in names:
            archive.writestr(name, "x")
    return packed.getvalue()


def said(value: bytes | str) -> str:
    """Name a case by its words: packed bytes hold the time of their packing."""
    return value if isinstance(value, str) else "bytes"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (b"%PDF-1.7\n%\xe2", "is a PDF document"),
        (b"\x89PNG\r\n\x1a\n\0\0", "is a picture (PNG)"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "is a picture (JPEG)"),
        (b"GIF89a\1\0", "is a picture (GIF)"),
        (b"II*\0\x08\0", "is a picture (TIFF)"),
        (b"MM\0*\0\0", "is a picture (TIFF)"),
        (b"BM\x36\0\0\0\0\0\0\0\x36\0", "is a picture (BMP)"),
        (b"\0\0\0\x18ftypheic\0\0", "is a picture (HEIC)"),
        (b"\0\0\0\x18ftypisom\0\0", "is a video"),
        (OLE, "save the sheet as .xlsx or CSV"),
        (OLE + "EncryptedPackage".encode("utf-16-le"), "is protected by a password"),
        (zipped("log.csv"), "is a ZIP archive, not an .xlsx workbook; unpack it"),
        (zipped("word/document.xml", "[Content_Types].xml"), "is a text document"),
        (zipped("content.xml", "mimetype"), "is an OpenDocument file"),
        (zipped("xl/workbook.bin", "[Content_Types].xml"), "is a binary workbook"),
        (zipped("log.csv")[:40], "is a damaged ZIP archive or workbook"),
        (b"7z\xbc\xaf\x27\x1c\0\4", "is a 7z archive"),
        (b"BZh91AY", "is packed with bzip2"),
        (bytes(range(256)), "is a binary file of unknown kind"),
        (b"\0\0\1\0" * 50, "is a binary file of unknown kind"),
        ("Nr;Tag\n1;4.5.26\n".encode("utf-16-le"), 'encoding = "utf-16" under'),
        (b"<!DOCTYPE html><html>", "is a web page or XML"),
    ],
    ids=said,
)
def test_what_is_no_log_is_refused_in_one_line(
    ledger: Ledger, tmp_path: Path, content: bytes, words: str
) -> None:
    for name in ("log.csv", "log.xlsx"):
        failure = take(ledger, tmp_path / name, content).failure
        assert failure.startswith(f"{tmp_path / name}: ")
        assert words in failure
        assert "\n" not in failure


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("log.xlsx", "is text, not an .xlsx workbook"),
        ("log.parquet", "is text, not a Parquet file"),
        ("log.dat", "cannot read text in files ending in .dat"),
        ("log", "cannot read text in files ending in nothing"),
    ],
)
def test_text_under_another_name(
    ledger: Ledger, tmp_path: Path, name: str, words: str
) -> None:
    assert words in take(ledger, tmp_path / name, TEXT).failure


@pytest.mark.parametrize("name", ["log.csv.gz", "log.csv", "log.CSV.GZ"])
@pytest.mark.parametrize("encoding", ["utf-8", "windows-1252", "utf-16"])
def test_packed_text(ledger: Ledger, tmp_path: Path, name: str, encoding: str) -> None:
    content = gzip.compress(TEXT.encode(encoding))
    files = f'encoding = "{encoding}"'
    taken = take(ledger, tmp_path / name, content, files=files)
    assert taken.held == [(2, "1", "größer")], taken.failure


def test_packed_json_lines(ledger: Ledger, tmp_path: Path) -> None:
    record = dict(zip(HEADER.split(","), line(1, "größer").split(","), strict=True))
    content = gzip.compress(json.dumps(record).encode())
    taken = take(ledger, tmp_path / "log.jsonl.gz", content)
    assert taken.held == [(1, "1", "größer")], taken.failure


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (gzip.compress(TEXT.encode())[:-9], "is a damaged gzip file"),
        (b"\x1f\x8b\x08" + bytes(20), "is a damaged gzip file"),
        (b"\x1f\x8b", "is a damaged gzip file"),
        (gzip.compress(gzip.compress(TEXT.encode())), "packs another packed file"),
        (gzip.compress(b"%PDF-1.7"), "what is packed in it is a PDF document"),
        (gzip.compress(b""), "what is packed in it the file is empty"),
    ],
    ids=said,
)
def test_packed_files_that_cannot_be_read(
    ledger: Ledger, tmp_path: Path, content: bytes, words: str
) -> None:
    failure = take(ledger, tmp_path / "log.csv.gz", content).failure
    assert words in failure
    assert failure.startswith(str(tmp_path / "log.csv.gz"))


def test_a_file_that_unpacks_without_end_is_refused(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bomb = gzip.compress(bytes(70 * 1024**2))
    failure = take(ledger, tmp_path / "log.csv.gz", bomb).failure
    assert "unpacks to more than 200 times its size" in failure
    monkeypatch.setattr(limits, "MAX_UNPACKED_BYTES", 10)
    packed = gzip.compress(TEXT.encode())
    failure = take(ledger, tmp_path / "log.csv.gz", packed).failure
    assert "send it in parts" in failure
