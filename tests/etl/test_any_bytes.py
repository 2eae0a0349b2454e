"""Whatever bytes a file holds: a line that names it, or a receipt that adds up.

The receipt's sum is checked by the table itself; here, that nothing else is raised and
that every row is held or rejected.
"""

import gzip
import zipfile
from collections.abc import Callable
from contextlib import suppress
from io import BytesIO
from pathlib import Path

import duckdb
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from etl.corrected_rows import is_corrections
from etl.sandbox.parquet import write_parquet_texts
from etl.sandbox.workbook import write_sheet_texts
from tests.etl.taking import HEADER, line, take
from tests.etl.test_parquet import log
from tests.etl.test_workbook import row, write_book
from tests.examples import examples

Ledger = duckdb.DuckDBPyConnection

# The same examples at every run: a failure is then a change of the code.
bounded = settings(**examples(20), suppress_health_check=list(HealthCheck))

PIECES = [
    b"\n", b"\r\n", b"\r", b",", b'"', b'""', b"\x00", b" ", b"\xff", b"\xc3\xa4",
    b"\xef\xbb\xbf", b"\xff\xfe", b"{", b"}", b'{"Nr": 1}', b"[", b"\\", b"\\u0000",
    b"x" * 40_000, b"Total", HEADER.encode(), line(1).encode(), line(2).encode(),
]  # fmt: skip
contents = st.lists(st.sampled_from(PIECES) | st.binary(max_size=6), max_size=14).map(
    b"".join
)


def check(ledger: Ledger, path: Path, content: bytes, files: str = "") -> None:
    taken = take(ledger, path, content, files=files)
    if taken.receipt is None:
        assert taken.failure.startswith(f"{path}: ")
        assert "\n" not in taken.failure
        return
    receipt = taken.receipt
    assert receipt.rows_read == len(taken.held) + receipt.duplicate + receipt.rejected
    assert receipt.rejected == len(taken.rejects)


def test_a_list_of_records(ledger: Ledger, tmp_path: Path) -> None:
    signs = [b"[", b"]", b",", b"{", b"}", b":", b'"a"', b"\n", b"-1."]
    parts = st.sampled_from([*signs, b'{"Nr": 2, "Day": "x"}'])

    @bounded
    @given(st.lists(parts, max_size=8).map(b"".join) | contents)
    def run(content: bytes) -> None:
        check(ledger, tmp_path / "log.json", b"[" + content)
        check(ledger, tmp_path / "log.json", b'{"a": [' + content)

    run()


@pytest.mark.parametrize("name", ["log.csv", "log.jsonl", "log.csv.gz"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "windows-1252"])
def test_text(ledger: Ledger, tmp_path: Path, name: str, encoding: str) -> None:
    @bounded
    @given(contents, st.booleans())
    def run(content: bytes, has_header: bool) -> None:
        if has_header and name != "log.jsonl":
            content = HEADER.encode(encoding) + "\n".encode(encoding) + content
        if name.endswith(".gz"):
            content = gzip.compress(content)
        check(ledger, tmp_path / name, content, f'encoding = "{encoding}"')

    run()


def harmed(whole: bytes) -> st.SearchStrategy[bytes]:
    """Return the file with some bytes changed, or cut."""
    places = st.integers(0, len(whole) - 1)
    changes = st.lists(st.tuples(places, st.integers(0, 255)), min_size=1, max_size=6)

    def apply(spots: list[tuple[int, int]], end: int) -> bytes:
        content = bytearray(whole)
        for place, value in spots:
            content[place] = value
        return bytes(content[: end or None])

    return st.builds(apply, changes, st.just(0) | places)


def parses(parse: Callable[[], None]) -> None:
    """Run what the limited process runs; only what it turns into words may come."""
    with suppress(ValueError, MemoryError):
        parse()


def test_damaged_sheets(tmp_path: Path) -> None:
    """Bytes changed within the sheet's XML, not only in what packs it."""
    path = write_book(
        tmp_path / "log.xlsx",
        lambda book, sheet: (sheet.write_row(1, 0, row(1)), None)[1],
    )
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    names = [name for name in parts if name.startswith("xl/") and "theme" not in name]

    @bounded
    @given(st.data())
    def run(data: st.DataObject) -> None:
        name = data.draw(st.sampled_from(names))
        packed = BytesIO()
        with zipfile.ZipFile(packed, "w") as archive:
            for part, content in parts.items():
                harm = part == name and content
                archive.writestr(part, data.draw(harmed(content)) if harm else content)
        path.write_bytes(packed.getvalue())
        parses(lambda: write_sheet_texts(path, ".", "", tmp_path))

    run()


def test_corrections_are_looked_for_in_any_bytes(tmp_path: Path) -> None:
    """In the load's own process: whatever a ZIP's directory claims, it is a no."""
    path = tmp_path / "log.xlsx"
    whole = write_book(path, lambda book, sheet: None).read_bytes()
    directory = whole.index(b"PK\x01\x02")

    @settings(bounded, **examples(100))
    @given(harmed(whole[directory:]))
    def run(content: bytes) -> None:
        path.write_bytes(whole[:directory] + content)
        assert not is_corrections(path)

    run()
    # A name that is said to be UTF-8 (bit 11 of the flags, at 8) and is not (at 46).
    content = bytearray(whole)
    content[directory + 9] |= 0x08
    content[directory + 46] = 0xFF
    path.write_bytes(content)
    with pytest.raises(UnicodeDecodeError):
        zipfile.ZipFile(path)
    assert not is_corrections(path)


def test_damaged_packed_files(ledger: Ledger, tmp_path: Path) -> None:
    """Through the limited process itself: few, since each starts one."""
    book = write_book(tmp_path / "log.xlsx", lambda book, sheet: None).read_bytes()
    log().write_parquet(tmp_path / "log.parquet")
    parquet = (tmp_path / "log.parquet").read_bytes()

    @settings(bounded, **examples(6))
    @given(harmed(book), harmed(parquet))
    def run(bad_book: bytes, bad_parquet: bytes) -> None:
        check(ledger, tmp_path / "log.xlsx", bad_book, 'sheet = "Log"')
        check(ledger, tmp_path / "log.parquet", bad_parquet)

    run()


def test_damaged_parquet(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    log().write_parquet(path)
    whole = path.read_bytes()

    @settings(bounded, **examples(30))
    @given(harmed(whole))
    def run(content: bytes) -> None:
        path.write_bytes(content)
        parses(lambda: write_parquet_texts(path, ".", tmp_path))

    run()
