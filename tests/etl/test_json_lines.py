"""JSON Lines: a value is taken as it stood, and a line that says two things is not.

JSON as in RFC 8259; what it leaves open (a key twice, NaN) is stated in each test.
"""

import json
from pathlib import Path

import duckdb
import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from queries.json_names import MOST_WITHIN, leaves
from queries.store import Store
from tests.builders import load, write_setting_data
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
        record(7.0),
    ]
    taken = take(ledger, tmp_path / "log.jsonl", "\r\n".join(lines))
    assert taken.held == [
        (1, "007", '{"a": [1, 0.1, "é"]}'),
        (3, "2", "[true, null]"),
        (4, "12345678901234567890123", "1.10"),
        (5, "4", "false"),
        (6, "5", None),
        (7, "6", None),
        (8, "7", None),
    ]
    # Not a number, and no number at all: faults of the value, the row stands.
    assert taken.faults == [
        (6, "hole_depth_mm", "NaN"),
        (7, "hole_depth_mm", "true"),
    ]
    assert taken.rows_read == 7


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
        (record(2, **{"a": {"b": 1}, "a.b": 2}), "the key 'a.b' stands twice"),
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


def test_what_an_object_holds_has_a_name_of_its_own(tmp_path: Path) -> None:
    """As forms on phones export it: a draft names the values, a load takes them."""
    nested = {
        "anchor": {"no": 7, "setting_code": "M12-68"},
        "date": "2026-05-04",
        "crew": {"name": "Gang A"},
        "hole": {"depth_mm": 92.5, "cleaned": True, "by": {"brush_count": 3}},
        "more": {"list": ["late", 1.5], "none": {}},
    }
    path = tmp_path / "form.jsonl"
    path.write_text(json.dumps(nested).replace("92.5", "92.50") + "\n", "utf-8")
    draft = draft_of(path)
    assert {one.column.name: one.header for one in draft.active} == {
        "record_id": "anchor.no",
        "setting_code": "anchor.setting_code",
        "installed_on": "date",
        "crew_code": "crew.name",
        "hole_depth_mm": "hole.depth_mm",
        "cleaned": "hole.cleaned",
        "brush_count": "hole.by.brush_count",
    }
    assert set(draft.unplaced) == {"more.list", "more.none"}
    (tmp_path / "site.toml").write_text(
        toml_of(draft) + '[columns.note]\nfrom = "more.list"\n', "utf-8"
    )
    write_setting_data(tmp_path, [{"setting_code": "M12-68"}])
    store = Store(tmp_path / "store")
    assert load(store, tmp_path).receipts[-1].loaded == 1
    with store.reader() as con:
        found = con.execute(
            "select record_id, crew_code, hole_depth_mm, cleaned, brush_count, note "
            "from installation"
        ).fetchall()
    assert found == [("7", "GANG A", 92.5, True, 3, '["late", 1.5]')]


def test_objects_within_objects_end_somewhere() -> None:
    deep: dict[str, object] = {"x": 1}
    for _ in range(500):
        deep = {"k" * 1000: deep}
    [(name, value)] = leaves(deep)
    assert name == ".".join(["k" * 1000] * (MOST_WITHIN + 1))
    assert isinstance(value, dict)
