"""Corrections of whatever format the logs had, and however a spreadsheet saved them."""

import csv
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
import xlsxwriter

from etl.corrected_rows import is_corrections
from queries.readers.corrections import MARK_HEADERS
from tests.builders import build_store, load
from tests.etl.correcting import build_rejects, given_back, open_rejects, sent_again


def _spoil_json(path: Path) -> None:
    path.write_text('{"Nr": "A", "Tag": "2026-05-04"}\nnot json\n', "utf-8")


MAP = """
[site]
code = "OTHER"
name = "Invented"
time_zone = "Europe/Berlin"
[files]
match = "{match}"
{files}
[columns]
record_id = "Nr"
installed_on = "Tag"
crew_code = "Trupp"
setting_code = "Typ"
hole_depth_mm = {{from = "Tiefe", unit = "cm"}}
"""


COMMA_FILES = 'delimiter = ";"\ndecimal = ","'


def _write_semicolons(path: Path) -> None:
    path.write_bytes(
        "Titel\nNr;Tag;Trupp;Typ;Tiefe\n7;;Süd;M12-68;9,2\n".encode("cp1252")
    )


def _write_number(path: Path) -> None:
    path.write_text('{"Nr": 7, "Tag": "2026-05-04", "Typ": "M12-68", "Tiefe": 9.25}')


def test_a_records_number_comes_back_digit_for_digit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_store(tmp_path)
    folder = tmp_path / "other"
    folder.mkdir()
    numbers = '"Tiefe": 9.250, "a": {"b": 1.10}, "list": [0.5, 2]'
    record = f'{{"Nr": 7, "Typ": "M12-68", {numbers}}}'
    (folder / "o.jsonl").write_text(record, "utf-8")
    files = 'decimal = ","'
    (folder / "o.toml").write_text(MAP.format(match="o.jsonl", files=files), "utf-8")
    load(store, folder / "o.jsonl")
    [row] = given_back(store, capsys)
    assert [row[name] for name in ("Nr", "Tiefe", "a.b", "list")] == [
        *("7", "9,250", "1,10", "[0.5, 2]")
    ]


# Whatever a site's files look like, the corrected rows are one comma CSV.
@pytest.mark.parametrize(
    ("name", "files", "write", "mended", "expected"),
    [
        (
            "o.csv",
            'encoding = "windows-1252"\ndelimiter = ";"\ndecimal = ","\nheader_row = 2',
            _write_semicolons,
            {"Tag": "2026-05-04"},
            ("7", "SÜD", 92.0),
        ),
        (
            "o.jsonl",
            "",
            _spoil_json,
            {"Trupp": "T1", "Typ": "M12-68", "Tiefe": "9.2"},
            ("A", "T1", 92.0),
        ),
        # A number of a record has a point, which its site's texts do not.
        (
            "o.jsonl",
            'decimal = ","',
            _write_number,
            {"Trupp": "T1"},
            ("7", "T1", 92.5),
        ),
    ],
)
def test_corrections_of_other_formats(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    name: str,
    files: str,
    write: Callable[[Path], None],
    mended: dict[str, str],
    expected: tuple[object, ...],
) -> None:
    store = build_store(tmp_path)
    folder = tmp_path / "other"
    folder.mkdir()
    write(folder / name)
    (folder / "o.toml").write_text(MAP.format(match=name, files=files), "utf-8")
    load(store, folder / name)
    row, *rest = given_back(store, capsys)
    assert [cells["firmset surplus"] for cells in rest] == ["not json"] * len(rest)
    sent_again(store, tmp_path / "mended.csv", [row | mended])
    with store.reader() as con:
        held = con.execute(
            "select record_id, crew_code, hole_depth_mm from installation"
        )
        assert held.fetchall() == [expected]


# As spreadsheets save a CSV, by the language they run in: (delimiter, encoding).
@pytest.mark.parametrize(
    ("delimiter", "encoding"),
    [
        (",", "utf-8-sig"),
        (";", "utf-8-sig"),
        (";", "windows-1252"),
        ("\t", "utf-16"),
        ("\t", "utf-8"),
    ],
)
def test_however_a_spreadsheet_saves_the_corrections(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    delimiter: str,
    encoding: str,
) -> None:
    store = build_rejects(tmp_path)
    rows = given_back(store, capsys)
    rows[0] |= {"crew_code": "CREW-Ü"}
    rows[1] |= {"installed_on": "2026-05-06", "note": f'a "quoted" {delimiter} one'}
    path = tmp_path / "mended.csv"
    with path.open("w", encoding=encoding, newline="") as lines:
        writer = csv.DictWriter(lines, list(rows[0]), delimiter=delimiter)
        writer.writeheader()
        writer.writerows(rows)
    [receipt] = load(store, path).receipts
    assert (receipt.loaded, receipt.rejected) == (2, 0)
    assert open_rejects(store) == []
    with store.reader() as con:
        held = con.execute(
            "select crew_code, note from installation where record_id <> 'R1' "
            "order by record_id"
        ).fetchall()
    assert held == [("CREW-Ü", "=1+1"), ("CREW-1", f'a "quoted" {delimiter} one')]


# As a spreadsheet saves it: what looks like a number or a date has become one, and a
# record's number may be typed too.
def test_corrections_saved_as_a_workbook(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "other"
    folder.mkdir()
    (folder / "o.toml").write_text(
        MAP.format(match="o.csv", files=COMMA_FILES).replace("cm", "m"), "utf-8"
    )
    (folder / "o.csv").write_text(
        "Nr;Tag;Trupp;Typ;Tiefe\n7;;T1;M12-68;1,125\n8;;T1;M12-68;0,0925\n", "utf-8"
    )
    store = build_store(tmp_path)
    load(store, folder / "o.csv")
    rows = given_back(store, capsys)
    path = tmp_path / "mended.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("o")
        day = book.add_format({"num_format": "dd.mm.yyyy"})
        sheet.write_row(0, 0, list(rows[0]))
        # A blank row between the two, as somebody may leave one.
        for line, row, depth in zip((1, 3), rows, (1.125, "0,0925"), strict=True):
            sheet.write_row(line, 0, list(row.values()))
            for name in ("firmset receipt", "firmset row", "Nr"):
                sheet.write_number(line, list(row).index(name), float(row[name]))
            sheet.write_datetime(
                line, list(row).index("Tag"), datetime(2026, 5, 6), day
            )
            sheet.write(line, list(row).index("Tiefe"), depth)
    [receipt] = load(store, path).receipts
    assert receipt.file_name == "mended.xlsx"
    assert (receipt.loaded, receipt.rejected) == (2, 0)
    assert open_rejects(store) == []
    with store.reader() as con:
        held = con.execute(
            "select record_id, installed_on::varchar, hole_depth_mm, source_row "
            "from installation where site_code = 'OTHER' order by all"
        ).fetchall()
    assert held == [("7", "2026-05-06", 1125.0, 2), ("8", "2026-05-06", 92.5, 4)]


# Only what begins with the marks is taken for corrections: a log whose notes speak of
# them is a log.
def test_a_workbook_that_names_the_marks_elsewhere_is_a_log(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    with xlsxwriter.Workbook(path) as book:
        book.add_worksheet().write_row(0, 0, ["Nr", *MARK_HEADERS])
    assert not is_corrections(path)
    path.write_bytes(path.read_bytes()[:-30])
    assert not is_corrections(path)


def test_corrections_in_no_known_encoding(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = build_rejects(tmp_path)
    rows = given_back(store, capsys)
    path = tmp_path / "mended.csv"
    sent_again(store, path, rows)
    # 0x81 is no sign of Windows-1252, and stands alone in no UTF-8.
    path.write_bytes(path.read_bytes() + b"\x81")
    [failure] = load(store, path).failures
    assert "mended.csv: neither UTF-8, UTF-16 nor Windows-1252" in failure
