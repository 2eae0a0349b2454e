"""A list of anchors as CSV: read whole, or every fault named with its place."""

import base64
import io

import pytest
import xlsxwriter
from dash import html

from dashboard.bill import MOST_LINES, parse_bill
from dashboard.pages.drilling_bill import bill_answer
from queries.errors import FirmsetError
from queries.readers.drilling_support import Asked
from queries.store import Store
from tests.dashboard.components import text

CHOICES = {
    "size": ["M8", "M12", "1/2"],
    "method": ["hammer", "hollow_bit"],
    "orientation": ["wall", "floor"],
}


def test_lines_keep_their_rows() -> None:
    content = b"size,embedment,count,method,orientation\nM12,68,400,hammer,wall\n\n"
    content += b'"1/2",82.5,3,,\n'
    lines = parse_bill(content, "bill.csv", CHOICES)
    assert [(line.row, line.asked, line.count) for line in lines] == [
        (2, Asked("M12", 68.0, "hammer", "wall"), 400),
        (4, Asked("1/2", 82.5), 3),
    ]


def test_semicolons_with_decimal_commas_and_a_mark() -> None:
    content = "\ufeff\nCount; Size;Embedment\n3;M12;68,5\n".encode()
    (line,) = parse_bill(content, "bill.csv", CHOICES)
    assert (line.asked, line.count) == (Asked("M12", 68.5), 3)


# 25.4 mm an inch is exact (NIST SP 811, appendix B.8).
def test_tabs_in_utf16_and_an_embedment_in_its_own_unit() -> None:
    content = 'size\tembedment\tcount\r\n1/2\t"3 1/4"""\t3\r\n'.encode("utf-16")
    (line,) = parse_bill(content, "bill.txt", CHOICES)
    assert (line.asked, line.count) == (Asked("1/2", 82.55), 3)


def test_the_first_sheet_of_a_workbook() -> None:
    content = io.BytesIO()
    with xlsxwriter.Workbook(content, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["Size", "Embedment", "Count", "Method"])
        sheet.write_row(2, 0, ["m12 ", 68.5, 400, "Hollow bit"])
        sheet.write_row(3, 0, ['1/2"', 82, 3])
    lines = parse_bill(content.getvalue(), "bill.xlsx", CHOICES)
    assert [(line.row, line.asked, line.count) for line in lines] == [
        (3, Asked("M12", 68.5, "hollow_bit"), 400),
        (4, Asked("1/2", 82.0), 3),
    ]
    with pytest.raises(FirmsetError, match=r"^bill\.xlsx: is a damaged workbook"):
        parse_bill(content.getvalue()[:900], "bill.xlsx", CHOICES)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("M13,68,1,,", "row 2, column size: 'M13'; expected one of M8, M12, 1/2"),
        ("M12,deep,1,,", "row 2, column embedment: 'deep'; expected mm above 0"),
        ("M12,nan,1,,", "column embedment: 'nan'"),
        ("M12,-68,1,,", "column embedment: '-68'"),
        ('M12,"1,250",1,,', "column embedment: '1,250'"),
        ("M12,1e9,1,,", "column embedment: '1e9'; expected mm above 0, at most 1000"),
        ("M12,68,0,,", "column count: '0'; expected a whole number from 1 to"),
        ("M12,68,2.5,,", "column count: '2.5'"),
        ("M12,68,,,", "column count: ''"),
        ("M12,68,1,jet,", "column method: 'jet'; expected blank or one of hammer"),
        ("M12,68,1,,roof", "column orientation: 'roof'"),
        ("M12,68,1,,wall,more", "row 2: 6 cells; expected 5"),
    ],
)
def test_a_fault_has_file_row_column_value_and_what_was_expected(
    row: str, words: str
) -> None:
    content = f"size,embedment,count,method,orientation\n{row}\n".encode()
    with pytest.raises(FirmsetError) as caught:
        parse_bill(content, "bill.csv", CHOICES)
    assert str(caught.value).startswith("bill.csv: row 2")
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"size,embedment\nM12,68\n", "row 1: column count is missing"),
        (b"size,embedment,count,colour\n", "column 'colour' is not known"),
        (b"size,size,embedment,count\n", "column 'size' comes twice"),
        (b"size,embedment,count\n", "no line with anchors"),
        (b"size,embedment,count\nM12,68,\x81\n", "neither UTF-8, UTF-16 nor"),
        (b"size,embedment,count\nM12,68,\0\n", "NUL"),
        (b'size,embedment,count\n"M12,68,1\n', "expected a CSV"),
        (b"size,embedment,count\n" + b"M12,68,1\n" * (MOST_LINES + 1), "more than"),
        (b" " * 1_000_001, "1000000 at most"),
    ],
)
def test_a_file_that_is_no_bill(content: bytes, words: str) -> None:
    with pytest.raises(FirmsetError, match=r"^bill\.csv") as caught:
        parse_bill(content, "bill.csv", CHOICES)
    assert words in str(caught.value)


def test_every_fault_is_named_up_to_ten() -> None:
    content = b"size,embedment,count\n" + b"M13,68,0\n" * 8
    with pytest.raises(FirmsetError) as caught:
        parse_bill(content, "bill.csv", CHOICES)
    assert str(caught.value).count("column") == 10
    first, *faults = str(caught.value).split("\n")
    assert first == "bill.csv: 16 faults:"
    assert len(faults) == 11
    assert faults[-1] == "and 6 more"


def test_an_upload_answers_in_words_and_changes_nothing(store: Store) -> None:
    """40 timed holes at one site are no model: said so, as is a file cut short."""
    before = store.edition_ids(), store.ledger_path.stat().st_mtime_ns
    content = base64.b64encode(b"size,embedment,count\nM12,68,1\n").decode()
    answer = bill_answer(store, f"data:text/csv;base64,{content}", "b.csv", "")
    assert isinstance(answer, html.Div)
    assert "expected 100 timed and completed holes from 3 sites" in text(answer)
    broken = bill_answer(store, "data:text/csv;base64,!!", "b.csv", "")
    assert "b.csv: did not arrive whole" in text(broken)
    assert before == (store.edition_ids(), store.ledger_path.stat().st_mtime_ns)
