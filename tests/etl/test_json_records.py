"""Records in a JSON document: in its list, or in a list in an object (RFC 8259).

What an object says beside them is named by its JSON Pointer, RFC 6901.
"""

import json
import tomllib
from pathlib import Path
from typing import Any

import duckdb
import pytest

from etl.draft.draft import draft_of
from etl.draft.write import toml_of
from etl.intake import IntakeResult
from etl.site_map import read_site_map
from etl.staging import stage_file
from etl.staging.json_records import records_of
from queries.errors import FirmsetError
from queries.store import Store
from tests.builders import build_store, load
from tests.etl.correcting import given_back, open_rejects, sent_again
from tests.etl.taking import take

Ledger = duckdb.DuckDBPyConnection


def record(number: object, **values: object) -> str:
    fixed = {"Nr": number, "Day": "2026-05-04", "Crew": "K1", "Code": "M12-68"}
    return json.dumps(fixed | values, ensure_ascii=False)


# What a map might read of what stands beside the records below.
SAID = ("/a~1b", "/m~0n/", "/ ", "/a/d" + "/k" * 7)


def in_pieces(text: str, size: int) -> list[str]:
    """Return the records of a text that comes in pieces of a size."""
    pieces = [text[at : at + size] for at in range(0, len(text), size)]
    return list(records_of(lambda: pieces, names=SAID))


# A list, as programs export it: RFC 8259, section 5.
def test_the_records_of_a_list_are_taken_as_lines_are(
    ledger: Ledger, tmp_path: Path
) -> None:
    records = [json.loads(record(n, Note=f"a [{n}], {{\n}}")) for n in range(1, 4)]
    text = json.dumps(records, indent=2).replace('"Nr": 2', '"Nr": 2, "Nr": 9')
    taken = take(ledger, tmp_path / "log.json", f" \r\n{text}\n")
    assert taken.held == [
        (1, "1", "a [1], {\n}"),
        (3, "3", "a [3], {\n}"),
    ]
    assert [(row, reason) for row, _, reason, _ in taken.rejects] == [
        (2, "the key 'Nr' stands twice")
    ]
    assert taken.rows_read == 3
    assert take(ledger, tmp_path / "none.json", "[ ]").rows_read == 0


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "windows-1252"])
def test_a_list_in_another_encoding(
    ledger: Ledger, tmp_path: Path, encoding: str
) -> None:
    content = f"[{record(1, Note='é')}]".encode(encoding)
    files = f'encoding = "{encoding.removesuffix("-sig")}"'
    taken = take(ledger, tmp_path / "log.json", content, files=files)
    assert taken.held == [(1, "1", "é")]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[{"a": 1}, {"a": ', "record 2 is not whole JSON; send it again"),
        ('[{"a": 1}', "found the end of the file, expected a comma before record 2"),
        ('[{"a": 1} {"a": 2}]', "found '{', expected a comma before record 2"),
        ('[{"a": 1}] x', "text after the list that it begins with"),
        ('[{"a": 1},]', "record 2 is not whole JSON"),
        ("[" * 5000, "record 1 is not whole JSON"),
        ("x", "is no JSON; expected a list of objects, or an object with such a list"),
        ('{"a": 1', "found the end of the file, expected a comma behind '/a', or }"),
        ('{"a" 1}', "expected a colon behind the key 'a'"),
        ('{"a": [{}, {]}', "record 2 at '/a' is not whole JSON; send it again"),
        ('{"a": [' + "12345, " * 500_000, "a list of values at '/a' of over 1048576"),
        ("{7: 1}", "the key 7 in '' is no text; send it again"),
        ('{"a": [{}], "b": 1, "a": [{}]}', "the key '/a' stands twice"),
        ('{"a": 1, }', "a key in '' is not whole JSON"),
        (
            json.dumps({str(n): [{}] for n in range(1002)}),
            "over 1000 lists of records",
        ),
        ('{"a": tru}', "the value of '/a' is not whole JSON"),
        ('{"a": 1}\n{"a": 2}', "JSON Lines, an object a line, in a file that ends in"),
    ],
)
def test_what_does_not_end_is_refused_whole(
    ledger: Ledger, tmp_path: Path, text: str, fault: str
) -> None:
    assert fault in take(ledger, tmp_path / "log.json", text).failure


def test_a_list_comes_in_pieces() -> None:
    """However they are cut, a number's digits and a letter's escape too."""
    text = '[ {"a": "\\u00e9, ]"} ,12.5, [1, 2],\n"x"]'
    whole = ['{"a": "\\u00e9, ]"}', "12.5", "[1, 2]", '"x"']
    for size in range(1, len(text) + 1):
        assert in_pieces(text, size) == whole


def test_a_draft_of_a_list_reads_its_keys(tmp_path: Path) -> None:
    path = tmp_path / "log.json"
    lines = [json.loads(record(n, Torque=55)) for n in range(5)]
    path.write_text(json.dumps(lines, indent=1), "utf-8")
    draft = draft_of(path)
    assert draft.header.names == ("Nr", "Day", "Crew", "Code", "Torque")
    assert len(draft.header.rows) == 5


def export(**beside: object) -> str:
    """Return an object of four records, of which two are none."""
    records = ["x", json.loads(record(2, Note="a")), 7, json.loads(record(4))]
    return json.dumps({"count": 4, "data": {"rows": records}} | beside, indent=1)


def test_the_records_in_an_object(ledger: Ledger, tmp_path: Path) -> None:
    taken = take(ledger, tmp_path / "log.json", export(links=["a", "b"], none=[]))
    assert taken.held == [(2, "2", "a"), (4, "4", None)]
    refused = [(row, code) for row, code, *_ in taken.rejects]
    assert refused == [(1, "unreadable_line"), (3, "unreadable_line")]
    assert taken.rows_read == 4


# RFC 6901, section 5: the names of its example document. "~" and "/" are escaped.
def test_what_stands_beside_the_records_is_said_of_each() -> None:
    text = (
        '{"a/b": 1.50, "rows": [{}, {"a": 1},\n7], "m~n": {"": [1, null], "x": {}},'
        ' " ": "\\u00e9"}'
    )
    said = '"/a~1b": 1.50, "/m~0n/": [1, null], "/ ": "\\u00e9"'
    whole = [f"{{{said}}}", f'{{{said}, "a": 1}}', "7"]
    for size in range(1, len(text) + 1):
        assert in_pieces(text, size) == whole
    assert list(records_of(lambda: [text])) == ["{}", '{"a": 1}', "7"]
    # As deep as an object may lie; deeper ones are values.
    deep = '{"a": {"b": [{"c": 1}], "d": ' + '{"k": ' * 7 + '{"v": 1}' + "}" * 7 + "}}"
    [line] = in_pieces(deep, 5)
    assert json.loads(line) == {"/a/d" + "/k" * 7: {"v": 1}, "c": 1}


MAP = """
[site]
code = "FORM"
name = "Invented site with forms"
time_zone = "Europe/Madrid"
[files]
match = "*"
{files}
[columns]
record_id = "no"
installed_on = "/day"
crew_code = "/made/crew"
setting_code = "/spec"
hole_depth_mm = "depth"
"""
HOLES = [{"no": 1, "depth": 92}, {"no": 2, "depth": 93, "day": "2026-05-05"}]
# What the object says behind its records is theirs too; "no" and "depth" are not.
FORM = {
    "made": {"crew": "K7", "no": 9},
    "depth": 70,
    "holes": HOLES,
    "day": "2026-05-04",
    "spec": "M12-68",
}
PICTURES = {"pictures": [{"name": "a.jpg"}, {"name": "b.jpg"}]}


def loaded(
    folder: Path, document: object, files: str = "", name: str = "form.json"
) -> tuple[Store, IntakeResult]:
    """Load a document under MAP into a store of its own."""
    store = build_store(folder)
    (folder / "a").mkdir()
    (folder / "a" / "form.toml").write_text(MAP.format(files=files), "utf-8")
    path = folder / "a" / name
    path.write_text(json.dumps(document), "utf-8")
    return store, load(store, path)


def held(store: Store) -> list[tuple[object, ...]]:
    with store.reader() as con:
        return con.execute(
            """
            select record_id, installed_on::varchar, crew_code, hole_depth_mm
            from installation where site_code = 'FORM' order by all
            """
        ).fetchall()


def test_what_is_said_twice_is_not_said(tmp_path: Path) -> None:
    text = json.dumps(FORM)[:-1] + ', "day": "2026-05-05", "depth": 71}'
    store, _ = loaded(tmp_path, FORM)
    path = tmp_path / "a" / "twice.json"
    path.write_text(text, "utf-8")
    [failure] = load(store, path).failures
    assert "twice.json: the key '/day' stands twice; send it again" in failure


def test_the_map_reads_what_is_said_beside(tmp_path: Path) -> None:
    store, result = loaded(tmp_path, FORM)
    assert not result.failures
    assert held(store) == [
        ("1", "2026-05-04", "K7", 92.0),
        ("2", "2026-05-04", "K7", 93.0),
    ]


def test_a_record_comes_back_with_what_is_said_of_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    form = FORM | {"made": {}}
    store, _ = loaded(tmp_path, form)
    assert held(store) == []
    rows = given_back(store, capsys)
    assert [row["/day"] for row in rows] == ["2026-05-04"] * 2
    fixed = [row | {"/made/crew": "K8"} for row in rows]
    result = sent_again(store, tmp_path / "a" / "fixed.csv", fixed)
    assert not result.failures
    assert [(row[0], row[2]) for row in held(store)] == [("1", "K8"), ("2", "K8")]
    assert open_rejects(store) == []


@pytest.mark.parametrize(
    ("files", "document", "found"),
    [
        ('records = "/holes"', FORM | PICTURES, 2),
        ('records = "/holes"', FORM | {"holes": []}, 0),
        ('records = ""', PICTURES | {"no": 1, "depth": 92}, 1),
        ('records = ""', [], 0),
    ],
)
def test_the_map_says_where_the_records_are(
    tmp_path: Path, files: str, document: object, found: int
) -> None:
    _, result = loaded(tmp_path, document, files)
    assert not result.failures
    assert result.receipts[-1].rows_read == found


@pytest.mark.parametrize(
    ("files", "document", "fault"),
    [
        (
            "",
            FORM | PICTURES,
            "has lists of records at '/holes' and '/pictures'; expec",
        ),
        (
            'records = "/rows"',
            FORM,
            "'/rows', where [files] records of the site map ex",
        ),
        ('records = "/day"', FORM, "expects it; found lists of records at '/holes'"),
        ('records = "/holes"', {"a": 1}, "expects it; found no list of records"),
        ('records = "/holes"', HOLES, "expects it; found a list that is in no object"),
    ],
)
def test_a_document_without_the_list_that_is_meant(
    tmp_path: Path, files: str, document: object, fault: str
) -> None:
    _, result = loaded(tmp_path, document, files)
    [failure] = result.failures
    assert fault in str(failure)


@pytest.mark.parametrize("value", ['"holes"', "7", "true", '["/holes"]'])
def test_what_is_no_pointer_is_refused(tmp_path: Path, value: str) -> None:
    path = tmp_path / "form.toml"
    path.write_text(MAP.format(files=f"records = {value}"), "utf-8")
    with pytest.raises(FirmsetError, match=r"line 8: \[files\] records = .*: expected"):
        read_site_map(path)


def test_an_object_without_a_list_is_a_record(tmp_path: Path) -> None:
    """As of a device that writes a file for each anchor."""
    document = {"no": 4, "depth": 92, "/day": "2026-05-04", "/spec": "M12-68"}
    store, _ = loaded(tmp_path, document | {"/made/crew": "K1", "codes": [1, 2]})
    assert held(store) == [("4", "2026-05-04", "K1", 92.0)]


def test_a_collection_of_features_is_read(tmp_path: Path) -> None:
    """RFC 7946, section 3: what is logged stands in each feature's properties."""
    features = [
        {"type": "Feature", "geometry": None, "properties": hole} for hole in HOLES
    ]
    collection = {"type": "FeatureCollection", "features": features}
    path = tmp_path / "holes.geojson"
    path.write_text(json.dumps(collection), "utf-8")
    draft = draft_of(path)
    assert {one.column.name: one.header for one in draft.active} == {
        "record_id": "properties.no",
        "installed_on": "properties.day",
        "hole_depth_mm": "properties.depth",
    }
    with duckdb.connect() as con:
        site_map = tmp_path / "site.toml"
        site_map.write_text(MAP.format(files=""), "utf-8")
        stage_file(con, path, read_site_map(site_map))
        assert con.execute("select count(*) from staged_row").fetchall() == [(2,)]


def draft_toml(path: Path, document: object) -> dict[str, Any]:
    path.write_text(json.dumps(document, indent=1), "utf-8")
    return tomllib.loads(toml_of(draft_of(path)))


def test_a_draft_of_an_object(tmp_path: Path) -> None:
    path = tmp_path / "log.json"
    rows = [{"Nr": n, "Hole depth (mm)": 92, "Torque (Nm)": 55} for n in range(1, 5)]
    form = {"Site": "Quay", "made": {"Date": "2026-05-04"}, "Crew": "K7", "rows": rows}
    found = draft_toml(path, form | PICTURES | {"Hole depth": 70})
    assert found["files"]["records"] == "/rows"
    assert found["site"]["name"] == "Quay"
    assert found["columns"] == {
        "record_id": "Nr",
        "installed_on": "/made/Date",
        "crew_code": "/Crew",
        "hole_depth_mm": "Hole depth (mm)",
        "setting_torque_nm": "Torque (Nm)",
    }
    nothing = draft_toml(path, form | {"a": [{}], "b": [{"c": None}, {}]})
    assert nothing["files"]["records"] == "/rows"
    path.write_text(json.dumps(form | PICTURES | {"Hole depth": 70}), "utf-8")
    assert any("'/Hole depth'" in said for said in draft_of(path).remarks)
    alone = draft_toml(path, PICTURES | {"made": rows[0], "Crew": "K7"})
    assert alone["files"]["records"] == ""
    assert alone["columns"]["hole_depth_mm"] == "made.Hole depth (mm)"
    assert "records" not in draft_toml(path, rows)["files"]
    assert "records" not in draft_toml(path, rows[0])["files"]
