"""The same rows in every supported format give the same ledger.

Expected values are what the test wrote, in canonical units, before it dressed them.
"""

import json
from collections.abc import Callable
from pathlib import Path

import duckdb
import polars as pl
import pytest
import xlsxwriter

from queries.readers.intake import read_rejects
from queries.store import Store
from tests.builders import load, write_setting_data

MAP = """
[site]
code = "DEPOT"
name = "Invented depot"
time_zone = "Europe/Berlin"
[files]
match = "{match}"
{files}
[dates]
{dates}
[columns]
record_id = "Nr"
installed_on = "Datum"
crew_code = "Kolonne"
setting_code = {{from = "Dübel", fill_down = {fill_down}}}
hole_depth_mm = {{from = "Tiefe", unit = "{unit}"}}
cleaned = "gereinigt"
note = "Bemerkung"
[codes.cleaned]
ja = true
nein = false
"""

# record_id, date, crew, hole depth in mm, cleaned, note
EXPECTED = [
    ("1", "2026-05-04", "K1", 92.5, True, "größer; wie „üblich“"),
    ("2", "2026-05-05", "K1", 1234.5, False, None),
    ("3", "2026-05-06", "K2", None, None, "Straße"),
]


def loaded(folder: Path, name: str, **options: str) -> list[tuple[object, ...]]:
    """Load the file of that name with a map of these options; return what is held."""
    defaults = {"files": "", "dates": "", "fill_down": "false", "unit": "mm"}
    text = MAP.format(match=name, **defaults | options)
    (folder / "depot.toml").write_text(text, "utf-8")
    store = Store(folder / "store")
    sheet = write_setting_data(folder)
    result = load(store, sheet, folder / name)
    assert not result.failures
    assert result.receipts[-1].rejected == 0
    with store.reader() as con:
        return con.execute(
            """
            select record_id, installed_on::varchar, crew_code, hole_depth_mm, cleaned,
                note
            from installation order by record_id
            """
        ).fetchall()


HEADER = "Nr;Datum;Kolonne;Dübel;Tiefe;gereinigt;Bemerkung"
SEMICOLON = "\r\n".join(
    [
        HEADER,
        '1;04.05.2026;k1;M12-68;9,25;ja;"größer; wie „üblich“"',
        "2;05.05.2026;K1;M12-68;123,45;NEIN;",
        "3;06.05.2026;K2;M12-68;;;Straße",
        "",
    ]
)
SEMICOLON_FILES = 'delimiter = ";"\ndecimal = ","\nencoding = "{encoding}"'


@pytest.mark.parametrize(
    ("encoding", "python_encoding"),
    [
        ("windows-1252", "cp1252"),
        ("utf-8", "utf-8"),
        ("utf-8", "utf-8-sig"),
        ("utf-16", "utf-16"),
    ],
)
def test_semicolons_decimal_comma_day_first(
    tmp_path: Path, encoding: str, python_encoding: str
) -> None:
    (tmp_path / "log.csv").write_bytes(SEMICOLON.encode(python_encoding))
    found = loaded(
        tmp_path,
        "log.csv",
        files=SEMICOLON_FILES.format(encoding=encoding),
        dates='format = "%d.%m.%Y"',
        unit="cm",
    )
    assert found == EXPECTED


def test_grouped_thousands(tmp_path: Path) -> None:
    text = SEMICOLON.replace("9,25", "92,5").replace("123,45", "1.234,5")
    (tmp_path / "log.csv").write_bytes(text.encode("cp1252"))
    found = loaded(
        tmp_path,
        "log.csv",
        files=SEMICOLON_FILES.format(encoding="windows-1252"),
        dates='format = "%d.%m.%Y"',
    )
    assert found == EXPECTED


def test_comma_csv_with_title_rows(tmp_path: Path) -> None:
    lines = [
        "Setzprotokoll,,,,,,",
        HEADER.replace(";", ","),
        '1,2026-05-04,K1,M12-68,92.5,yes,"größer; wie „üblich“"',
        '2,2026-05-05,K1,M12-68,"1,234.5",n,',
        "3,2026-05-06,K2,M12-68",  # short: the rest is blank
        "",
    ]
    (tmp_path / "log.csv").write_text("\n".join(lines), "utf-8")
    found = loaded(tmp_path, "log.csv", files="header_row = 2")
    assert found == [*EXPECTED[:2], (*EXPECTED[2][:5], None)]


def test_json_lines(tmp_path: Path) -> None:
    lines = [
        {"Nr": 1, "Datum": "2026-05-04", "Kolonne": "K1", "Dübel": "M12-68"}
        | {"Tiefe": 92.5, "gereinigt": True, "Bemerkung": "größer; wie „üblich“"},
        {"Nr": "2", "Datum": "2026-05-05", "Kolonne": "K1", "Dübel": "M12-68"}
        | {"Tiefe": "1234.5", "gereinigt": "nein", "other": [1, 2]},
        {"Nr": 3, "Datum": "2026-05-06", "Kolonne": "K2", "Dübel": "M12-68"}
        | {"Tiefe": None, "Bemerkung": "Straße"},
    ]
    text = "\n".join(json.dumps(line, ensure_ascii=False) for line in lines)
    (tmp_path / "log.jsonl").write_text(text + "\n\n", "utf-8")
    assert loaded(tmp_path, "log.jsonl") == EXPECTED


def test_a_line_that_is_no_json_is_rejected_with_its_text(tmp_path: Path) -> None:
    good = '{"Nr": 1, "Datum": "2026-05-04", "Kolonne": "K1", "Dübel": "M12-68"}'
    (tmp_path / "log.jsonl").write_text(f'{good}\n{{"Nr": 2, "Datum"\n', "utf-8")
    (tmp_path / "depot.toml").write_text(
        MAP.format(match="log.jsonl", files="", dates="", fill_down="false", unit="mm"),
        "utf-8",
    )
    store = Store(tmp_path / "store")
    result = load(store, write_setting_data(tmp_path), tmp_path / "log.jsonl")
    assert not result.failures
    with store.reader() as con:
        [reject] = read_rejects(con).to_dicts()
    assert (reject["source_row"], reject["reason"], reject["raw_text"]) == (
        2,
        "not a JSON object",
        '{"Nr": 2, "Datum"',
    )


def write_workbook(path: Path) -> None:
    """Two title rows, an empty row, and the setting code in one merged cell."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Protokoll")
        sheet.merge_range(0, 0, 0, 6, "Setzprotokoll")
        sheet.merge_range(1, 0, 1, 6, "frei erfunden")
        sheet.write_row(2, 0, HEADER.split(";"))
        sheet.merge_range(3, 3, 6, 3, "M12-68")
        day = book.add_format({"num_format": "dd.mm.yyyy"})
        for row, (record, date, crew, depth, cleaned, note) in zip(
            (3, 4, 6), EXPECTED, strict=True
        ):
            sheet.write(row, 0, int(record))
            sheet.write_datetime(row, 1, _day(date), day)
            sheet.write(row, 2, crew)
            sheet.write(row, 4, depth)
            sheet.write(row, 5, {True: "ja", False: "nein", None: None}[cleaned])
            sheet.write(row, 6, note)


def _day(text: str):  # type: ignore[no-untyped-def]
    from datetime import datetime

    return datetime.fromisoformat(text)


def test_workbook_with_title_rows_and_merged_cells(tmp_path: Path) -> None:
    write_workbook(tmp_path / "log.xlsx")
    found = loaded(
        tmp_path,
        "log.xlsx",
        files='header_row = 3\nsheet = "Protokoll"',
        fill_down="true",
    )
    assert found == EXPECTED
    with Store(tmp_path / "store").reader() as con:
        rows = con.execute("select source_row from installation order by record_id")
        # Rows of the sheet, counted from 1: the empty sixth one keeps its number.
        assert rows.fetchall() == [(4,), (5,), (7,)]


def write_typed_workbook(path: Path, depths: list[float | str]) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, HEADER.split(";"))
        for number, depth in enumerate(depths, start=1):
            sheet.write_row(number, 0, [number, "2026-05-04", "K1", "M12-68", depth])


def write_typed_json(path: Path, depths: list[float | str]) -> None:
    records = [
        dict(zip(HEADER.split(";"), [n, "2026-05-04", "K1", "M12-68", d], strict=False))
        for n, d in enumerate(depths, start=1)
    ]
    path.write_text("\n".join(map(json.dumps, records)), "utf-8")


def write_typed_parquet(path: Path, depths: list[float | str]) -> None:
    pl.DataFrame(
        {
            "Nr": [1, 2, 3],
            "Datum": "2026-05-04",
            "Kolonne": "K1",
            "Dübel": "M12-68",
            "Tiefe": depths,
            "gereinigt": "",
            "Bemerkung": "",
        }
    ).write_parquet(path)


# What a file holds as a number has no sign of its own: the map's decimal comma is that
# of texts. Read as a text, 1.125 would be 1125 with a grouping point.
@pytest.mark.parametrize(
    ("name", "write", "depths"),
    [
        ("log.xlsx", write_typed_workbook, [1.125, 0.25, "0,092"]),
        ("log.jsonl", write_typed_json, [1.125, 0.25, "0,092"]),
        ("log.parquet", write_typed_parquet, [1.125, 0.25, 0.092]),
    ],
)
def test_numbers_of_a_type_where_texts_have_a_decimal_comma(
    tmp_path: Path,
    name: str,
    write: Callable[[Path, list[float | str]], None],
    depths: list[float | str],
) -> None:
    write(tmp_path / name, depths)
    found = loaded(tmp_path, name, files='decimal = ","', unit="m")
    assert [depth for _, _, _, depth, *_ in found] == [1125.0, 250.0, 92.0]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("log.xlsx", b"PK but no workbook", "not an .xlsx workbook"),
        ("log.pdf", b"%PDF-1.7", "is a PDF document"),
        ("log.csv", b"", "the file is empty"),
        ("log.csv", "Nr;Dübel\n".encode("cp1252"), "line 1 cannot be read as utf-8"),
    ],
)
def test_a_file_that_cannot_be_read_is_named(
    tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    (tmp_path / name).write_bytes(content)
    (tmp_path / "depot.toml").write_text(
        MAP.format(match=name, files="", dates="", fill_down="false", unit="mm"),
        "utf-8",
    )
    result = load(Store(tmp_path / "store"), tmp_path / name)
    [failure] = result.failures
    assert words in failure
    assert str(tmp_path / name) in failure


def test_a_missing_sheet_names_those_there_are(tmp_path: Path) -> None:
    write_workbook(tmp_path / "log.xlsx")
    (tmp_path / "depot.toml").write_text(
        MAP.format(
            match="log.xlsx",
            files='sheet = "May"',
            dates="",
            fill_down="false",
            unit="mm",
        ),
        "utf-8",
    )
    [failure] = load(Store(tmp_path / "store"), tmp_path / "log.xlsx").failures
    assert "has no sheet 'May'; it has Protokoll" in failure


# Whatever DuckDB may stumble over in a file that somebody sent: a line, no traceback,
# and the other files are loaded.
def test_an_error_of_duckdb_fails_its_own_file_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stumble(*_: object, **__: object) -> None:
        raise duckdb.Error("Out of Range\n\nLINE 1: ...")

    monkeypatch.setattr("etl.intake.load_log", stumble)
    (tmp_path / "log.csv").write_text(HEADER.replace(";", ",") + "\n", "utf-8")
    (tmp_path / "depot.toml").write_text(
        MAP.format(match="log.csv", files="", dates="", fill_down="false", unit="mm"),
        "utf-8",
    )
    sheet = write_setting_data(tmp_path)
    result = load(Store(tmp_path / "store"), tmp_path / "log.csv", sheet)
    [failure] = result.failures
    assert failure == f"{tmp_path / 'log.csv'}: cannot be loaded: Out of Range"
    assert [receipt.content for receipt in result.receipts] == ["setting data"]
