"""JSON Lines: a value is taken as it stood, and a line that says two things is not.

JSON as in RFC 8259; what it leaves open (a key twice, NaN) is stated in each test.
"""

import json
from pathlib import Path

import duckdb
import pytest

from tests.etl.taking import take

Ledger = duckdb.DuckDBPyConnection


def record(number: object, **values: object) -> str:
    fixed = {"Nr": number, "Day": "2026-05-04", "Crew": "K1", "Code": "M12-68"}
    return json.dumps(fixed | values, ensure_ascii=False)


def test_values_are_taken_as_they_stood(ledger: Ledger, tmp_path: Path) -> None:
    note = {"a": [1, 0.1, "é"]}
    big = '{"Nr": 12345678901234567890123, "Day": "2026-05-04", "Crew": "K1", '
    lines = [
        record("007", Note=note),
        "",
        record(2, Note=[True, None]),
        big + '"Code": "M12-68", "Depth": 92.50, "Note": 1.10}',
        record(4, Note=False, Depth=None, More={"x": 1}),
        record(5, Depth=float("nan")),
        record(6, Depth=True),
    ]
    taken = take(ledger, tmp_path / "log.jsonl", "\r\n".join(lines))
    assert taken.held == [
        (1, "007", '{"a": [1, 0.1, "é"]}'),
        (3, "2", "[true, null]"),
        (4, "12345678901234567890123", "1.10"),
        (5, "4", "false"),
        (6, "5", None),
        (7, "6", None),
    ]
    # Not a number, and no number at all: faults of the value, the row stands.
    assert taken.faults == [
        (6, "hole_depth_mm", "NaN"),
        (7, "hole_depth_mm", "true"),
    ]
    assert taken.rows_read == 6


@pytest.mark.parametrize(
    ("bad", "reason"),
    [
        ("[1, 2]", "not a JSON object"),
        ('"text"', "not a JSON object"),
        ("7", "not a JSON object"),
        ("null", "not a JSON object"),
        ('{"Nr": 2,', "not a JSON object"),
        (record(2) + record(3), "not a JSON object"),
        ("[" * 100_000, "not a JSON object"),
        ('{"a":' * 10_000, "not a JSON object"),
        ('{"Nr": ' + "9" * 5000 + ', "Note": [' + "9" * 5000 + "]}", "not a JSON"),
        (record(2)[:-1] + ', "Nr": 3}', "the key 'Nr' stands twice"),
        (record(2, Note="a\0b"), "a NUL character in a value"),
        (json.dumps(json.loads(record(2)) | {"Note": "\ud800"}), "half a character"),
        (record(2, Note="x" * 32_768), "a value of 32768 characters"),
        (record(2, Note="x" * 2_000_000), "a line of 20000"),
    ],
)
def test_a_line_that_cannot_be_taken_keeps_its_text(
    ledger: Ledger, tmp_path: Path, bad: str, reason: str
) -> None:
    text = "\n".join([record(1), bad, record(4)])
    taken = take(ledger, tmp_path / "log.jsonl", text)
    assert [found[:2] for found in taken.held] == [(1, "1"), (3, "4")]
    [(row, code, words, raw)] = taken.rejects
    assert (row, code) == (2, "unreadable_line")
    assert words.startswith(reason)
    assert raw == bad[: 1 << 20]


def test_a_nul_byte_in_a_line_shows(ledger: Ledger, tmp_path: Path) -> None:
    taken = take(ledger, tmp_path / "log.jsonl", record(1) + "\n{\0}\n")
    [(row, _, _, raw)] = taken.rejects
    assert (row, raw) == (2, "{␀}")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_encodings(ledger: Ledger, tmp_path: Path, encoding: str) -> None:
    name = {"cp1252": "windows-1252", "utf-8-sig": "utf-8"}.get(encoding, encoding)
    content = record(1, Note="größer").encode(encoding)
    files = f'encoding = "{name}"'
    taken = take(ledger, tmp_path / "log.ndjson", content, files=files)
    assert taken.held == [(1, "1", "größer")]


def test_bytes_that_are_no_text_are_named_by_line(
    ledger: Ledger, tmp_path: Path
) -> None:
    content = record(1).encode() + b"\n\n\xff\n"
    failure = take(ledger, tmp_path / "log.jsonl", content).failure
    assert "line 3 cannot be read as utf-8 (bytes ff)" in failure
