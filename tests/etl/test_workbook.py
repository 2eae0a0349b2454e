"""Workbooks: sheets by name, true row numbers, dates, errors, and files made to harm.

Workbooks are written by xlsxwriter, so that the expected texts are what was put in;
what it cannot write is put into the sheet's XML (ECMA-376 part 1).
"""

import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import duckdb
import pytest
import xlsxwriter

from etl.sandbox.run import MEMORY_BYTES
from etl.sandbox.shared import date_kind, plain_number
from tests.etl.taking import HEADER, Taken, take

Ledger = duckdb.DuckDBPyConnection
COLUMNS = HEADER.split(",")


def write_book(path: Path, fill: Callable[[Any, Any], None], **options: Any) -> Path:
    """Write a workbook with the sheet Log, its header in row 1, the rest by `fill`."""
    with xlsxwriter.Workbook(path, {"strings_to_formulas": False} | options) as book:
        book.add_worksheet("Cover").write(0, 0, "not this one")
        sheet = book.add_worksheet("Log")
        sheet.write_row(0, 0, COLUMNS)
        fill(book, sheet)
    return path


def take_book(ledger: Ledger, path: Path, **options: Any) -> Taken:
    return take(ledger, path, files=options.pop("files", 'sheet = "Log"'), **options)


def row(number: object, **values: object) -> list[object]:
    cells = {"Nr": number, "Day": "2026-05-04", "Crew": "K1", "Code": "M12-68"}
    cells |= {"Depth": 92} | values
    return [cells.get(name) for name in COLUMNS]


def changed(path: Path, *changes: tuple[str, str], part: str = "sheet2.xml") -> Path:
    """Replace texts in one part of a workbook."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for name in parts:
        if name.endswith(part):
            text = parts[name].decode("utf-8")
            for old, new in changes:
                assert old in text, text
                text = text.replace(old, new)
            parts[name] = text.encode("utf-8")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def test_rows_keep_the_sheets_numbers(ledger: Ledger, tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        sheet.write_row(3, 0, row(1, Note="hidden"))
        sheet.set_row(3, None, None, {"hidden": True})
        sheet.write_row(6, 0, row(2))
        sheet.write_row(7, 0, ["  ", "", "", "", "", ""])
        sheet.write_row(8, 0, ["Total", None, None, None, 184])
        sheet.write_row(9, 0, COLUMNS)

    taken = take_book(ledger, write_book(tmp_path / "log.xlsx", fill))
    assert taken.held == [(4, "1", "hidden"), (7, "2", None)], taken.failure
    codes = [reject[:2] for reject in taken.rejects]
    assert codes == [(9, "footer_total"), (10, "repeated_header")]
    assert taken.rows_read == 4


def test_blank_rows_above_the_header(ledger: Ledger, tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        moved = book.add_worksheet("Moved")
        moved.write_row(4, 1, COLUMNS)
        moved.write_row(5, 1, row(1))

    path = write_book(tmp_path / "log.xlsx", fill)
    taken = take_book(ledger, path, files='sheet = "Moved"\nheader_row = 5')
    assert taken.held == [(6, "1", None)], taken.failure
    failure = take_book(ledger, path, files='sheet = "Moved"\nheader_row = 7').failure
    assert "the sheet ends before row 7" in failure
    failure = take_book(ledger, path, files='sheet = "May"').failure
    assert "has no sheet 'May'; it has Cover, Log, Moved" in failure


def test_a_header_of_two_rows_with_merged_cells(ledger: Ledger, tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        two = book.add_worksheet("Two")
        two.write_row(2, 0, ["", "", "Anchor", "", "Hole", ""])
        two.merge_range(2, 2, 2, 3, "Anchor")
        two.write_row(3, 0, ["Nr", "Day", "Crew", "Code", "Depth", "Note"])

    path = write_book(tmp_path / "log.xlsx", fill)
    files = 'sheet = "Two"\nheader_row = [3, 4]'
    failure = take_book(ledger, path, files=files).failure
    assert "columns Nr, Day, Anchor Crew, Anchor Code, Hole Depth, Hole Note" in failure


@pytest.mark.parametrize("is_1904", [False, True])
def test_dates_times_and_numbers(ledger: Ledger, tmp_path: Path, is_1904: bool) -> None:
    def fill(book: Any, sheet: Any) -> None:
        def shown(code: str) -> Any:
            return book.add_format({"num_format": code})

        day, clock = shown("dd.mm.yyyy"), shown("[$-407]hh:mm")
        notes: list[tuple[object, Any]] = [
            (datetime(2026, 5, 4, 7, 45), shown("yyyy-mm-dd hh:mm")),
            (date(2026, 5, 4), day),
            (time(7, 45), clock),
            (timedelta(hours=26), shown("[h]:mm")),
            (45000, None),
            (0.1 + 0.2, shown('0.00 "days"')),
            (1e-7, None),
            (9.2499999999999998e-2, None),
            (True, None),
            ("0042", None),
            (-3, day),
        ]
        for number, (value, form) in enumerate(notes, start=1):
            sheet.write_row(number, 0, row(number))
            sheet.write(number, 5, value, form)

    path = write_book(tmp_path / "log.xlsx", fill, date_1904=is_1904)
    taken = take_book(ledger, path)
    assert [note for _, _, note in taken.held] == [
        "2026-05-04 07:45:00",
        "2026-05-04 00:00:00",
        "07:45:00",
        "26:00:00",
        "45000",
        "0.3",  # xlsxwriter writes 16 digits
        "1e-07",
        "0.0925",
        "true",
        "0042",
        "-3",
    ]


def test_a_real_date_is_the_day_it_shows(ledger: Ledger, tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        sheet.write_row(1, 0, row(1))
        form = book.add_format({"num_format": 14})
        sheet.write_datetime(1, 1, datetime(2026, 5, 4), form)

    take_book(ledger, write_book(tmp_path / "log.xlsx", fill))
    days = ledger.execute(
        "select installed_on::varchar from installation "
        "order by source_file_id desc limit 1"
    )
    assert days.fetchall() == [("2026-05-04",)]


# Leap year of 1900: serial 59 is 28 February, 61 is 1 March, 60 is no day
# (ECMA-376 part 1, 18.17.4.1).
@pytest.mark.parametrize(
    ("code", "kind"),
    [
        ("General", None),
        ("0.00", None),
        ('0 "days"', None),
        ("#,##0.00\\d", None),
        ("[Red]0.0", None),
        ("dd/mm/yyyy", "date"),
        ("mmm", "date"),
        ("[$-409]h:mm AM/PM", "time"),
        ("mm:ss.0", "time"),
        ("[mm]:ss", "elapsed"),
    ],
)
def test_number_formats_that_show_dates(code: str, kind: str | None) -> None:
    assert date_kind(code) == kind


def test_numbers_are_the_shortest_that_read_back() -> None:
    for value in (92.0, 0.1, 1e15, 123456789012345680.0, float("inf")):
        assert float(plain_number(value)) == value
    assert plain_number(92.0) == "92"


def test_errors_and_formulas_without_a_value_are_no_blanks(
    ledger: Ledger, tmp_path: Path
) -> None:
    def fill(book: Any, sheet: Any) -> None:
        for number in range(1, 6):
            sheet.write_row(number, 0, row(number))
        sheet.write_formula(1, 4, "=A1/0", None, "#DIV/0!")
        sheet.write_formula(2, 4, "=B1", None, "")
        sheet.write_formula(3, 4, '=IF(A1="","",1)', None, "kept")
        sheet.write_formula(4, 2, "=NA()", None, "#N/A")
        sheet.write_formula(5, 4, "=90+2", None, 92)

    path = write_book(tmp_path / "log.xlsx", fill)
    changed(path, ("<v>kept</v>", "<v></v>"))  # a text formula that gives ""
    taken = take_book(ledger, path)
    assert [found[1] for found in taken.held] == ["1", "2", "3", "5"]
    assert taken.faults == [
        (2, "hole_depth_mm", "#DIV/0!"),
        (3, "hole_depth_mm", "=formula without value"),
    ]
    [(number, code, reason, raw)] = taken.rejects
    assert (number, code) == (5, "unreadable_line")
    assert reason == "Crew: '#N/A', expected a value"
    assert '"Nr":"4"' in raw


def test_texts_with_runs_escapes_and_prefixes(ledger: Ledger, tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        bold = book.add_format({"bold": True})
        for number in range(1, 4):
            sheet.write_row(number, 0, row(number))
        sheet.write_rich_string(1, 5, "so ", bold, "that")
        sheet.write_string(2, 5, "a\r\nb <&> _x0041_")
        sheet.write_string(3, 5, "inline")

    path = write_book(tmp_path / "log.xlsx", fill)
    assert [note for *_, note in take_book(ledger, path).held] == [
        "so that",
        "a\r\nb <&> _x0041_",
        "inline",
    ]
    # The same sheet with a prefix on every element, and without cell references.
    changed(path, ("<", "<x:"), ("<x:/", "</x:"), ("<x:?xml", "<?xml"))
    changed(path, ("<x:worksheet xmlns=", "<x:worksheet xmlns:x="))
    assert len(take_book(ledger, path).held) == 3


def test_fill_down_of_merged_cells(ledger: Ledger, tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        for number in range(1, 4):
            sheet.write_row(number, 0, row(number, Code=None))
        sheet.merge_range(1, 3, 3, 3, "M12-68")

    path = write_book(tmp_path / "log.xlsx", fill)
    assert len(take_book(ledger, path, fill_down=True).held) == 3


def test_a_lone_cell_at_the_far_corner(ledger: Ledger, tmp_path: Path) -> None:
    def corner(book: Any, sheet: Any) -> None:
        sheet.write_row(1, 0, row(1))
        sheet.write("XFD1048576", "x")

    failure = take_book(ledger, write_book(tmp_path / "a.xlsx", corner)).failure
    assert "row 1048576, column 16384; expected at most 1000 columns" in failure

    def far_down(book: Any, sheet: Any) -> None:
        sheet.write_row(1, 0, row(1))
        sheet.write_row(1048575, 0, row(2))
        sheet.write_blank("XFD7", None, book.add_format({"bold": True}))

    taken = take_book(ledger, write_book(tmp_path / "b.xlsx", far_down))
    assert [found[0] for found in taken.held] == [2, 1048576]


def test_bombs_are_refused(ledger: Ledger, tmp_path: Path) -> None:
    path = write_book(tmp_path / "log.xlsx", lambda book, sheet: None)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/more.xml", bytes(80 * 1024**2))
    failure = take_book(ledger, path).failure
    assert "more than 200 times its size" in failure
    entity = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">]><worksheet '
    book = write_book(tmp_path / "entities.xlsx", lambda book, sheet: None)
    changed(book, ("<worksheet ", entity))
    assert "declares a document type" in take_book(ledger, book).failure


# Found by more examples of test_any_bytes.test_damaged_sheets: one bit off.
@pytest.mark.parametrize("encoding", ["ATF-8", "utf-7", "big5"])
def test_an_encoding_that_no_workbook_has(
    ledger: Ledger, tmp_path: Path, encoding: str
) -> None:
    book = write_book(tmp_path / "log.xlsx", lambda book, sheet: None)
    changed(book, ('encoding="UTF-8"', f'encoding="{encoding}"'))
    failure = take_book(ledger, book).failure
    assert failure.startswith(f"{book}: is a damaged workbook (its XML declares the ")
    assert f"{encoding!r}; expected UTF-8 or UTF-16" in failure


def test_a_sheet_beyond_the_limit_of_memory_is_refused(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(MEMORY_BYTES, "xlsx", 64 * 1024**2)

    def fill(book: Any, sheet: Any) -> None:
        for number in range(40):
            sheet.write(number, 7, f"{number}" + "x" * 32_000)

    path = write_book(tmp_path / "log.xlsx", fill)
    assert take_book(ledger, path).receipt
    texts = "".join(f"<si><t>{number}</t></si>" for number in range(1_500_000))
    changed(path, ("</sst>", f"{texts}</sst>"), part="sharedStrings.xml")
    failure = take_book(ledger, path).failure
    assert failure.startswith(f"{path}: cannot be read within 64 MB of memory")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("<sheetData>", "<sheetData"), "is a damaged workbook"),
        (('t="s"><v>1<', 't="s"><v>999<'), "no shared text '999'"),
    ],
)
def test_damaged_sheets(
    ledger: Ledger, tmp_path: Path, change: tuple[str, str], words: str
) -> None:
    path = write_book(tmp_path / "log.xlsx", lambda book, sheet: None)
    assert words in take_book(ledger, changed(path, change)).failure


def test_a_truncated_workbook(ledger: Ledger, tmp_path: Path) -> None:
    path = write_book(tmp_path / "log.xlsx", lambda book, sheet: None)
    failure = take_book(ledger, path, content=path.read_bytes()[:-100]).failure
    assert "is a damaged ZIP archive or workbook" in failure
