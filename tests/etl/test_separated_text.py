"""Separated text, ordinary and not: every row is taken or rejected, under its number.

Row numbers expected are counted by hand as a spreadsheet shows the file (RFC 4180: a
quoted cell may hold line breaks; a blank line is a row of the sheet).
"""

import random
from pathlib import Path

import duckdb
import pytest

from etl.site_map import SiteMap
from etl.staging import delimited, limits
from etl.staging.delimited import (
    _ordinary_row_count,
    _read_head,
    _stage_fast,
    _stage_with_care,
)
from tests.etl.taking import HEADER, Taken, line, take

Ledger = duckdb.DuckDBPyConnection


def held_rows(taken: Taken) -> list[tuple[int, str]]:
    assert taken.receipt, taken.failure
    return [(row, record) for row, record, _ in taken.held]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("tail", ["", "END", "ENDEND"])
def test_line_ends_and_blank_lines_at_the_end(
    ledger: Ledger, tmp_path: Path, end: str, tail: str
) -> None:
    text = end.join([HEADER, line(1), line(2)]) + tail.replace("END", end)
    taken = take(ledger, tmp_path / "log.csv", text)
    assert held_rows(taken) == [(2, "1"), (3, "2")]
    assert taken.rows_read == 2


@pytest.mark.parametrize("delimiter", [";", "\t", "|", "^", "§", " "])
def test_any_character_separates(
    ledger: Ledger, tmp_path: Path, delimiter: str
) -> None:
    note = f'"a{delimiter}b ""c"""'
    text = f"{HEADER}\n{line(1, 'NOTE')}\n{line(2)}\n".replace(",", delimiter)
    files = f'delimiter = "{delimiter}"'.replace("\t", "\\t")
    taken = take(ledger, tmp_path / "log.txt", text.replace("NOTE", note), files=files)
    assert taken.held == [(2, "1", f'a{delimiter}b "c"'), (3, "2", None)]


def test_a_quote_as_delimiter_is_refused(ledger: Ledger, tmp_path: Path) -> None:
    taken = take(ledger, tmp_path / "log.csv", HEADER, files="delimiter = '\"'")
    assert "expected one character, and no letter" in taken.failure


TEXT = f"{HEADER}\n{line(1, 'größer')}\n{line(2, 'ñandú')}\n"


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        (TEXT.encode("utf-8"), "utf-8"),
        (TEXT.encode("utf-8-sig"), "utf-8"),
        (TEXT.encode("utf-8-sig"), "windows-1252"),  # the mark says what it is
        (b"\xff\xfe" + TEXT.encode("utf-16-le"), "utf-16"),
        (b"\xfe\xff" + TEXT.encode("utf-16-be"), "utf-16"),
        (b"\xfe\xff" + TEXT.encode("utf-16-be"), "utf-8"),
        (TEXT.encode("utf-16-le"), "utf-16"),
        (TEXT.encode("utf-16-be"), "utf-16"),
        (TEXT.encode("latin-1"), "latin-1"),
        (TEXT.encode("cp1252"), "windows-1252"),
    ],
)
def test_encodings(
    ledger: Ledger, tmp_path: Path, content: bytes, encoding: str
) -> None:
    files = f'encoding = "{encoding}"'
    taken = take(ledger, tmp_path / "log.csv", content, files=files)
    assert taken.held == [(2, "1", "größer"), (3, "2", "ñandú")], taken.failure


@pytest.mark.parametrize(
    ("content", "encoding", "words"),
    [
        (f"{HEADER}\n{line(1)}\r\n".encode() + b"2,\xe9\n", "utf-8", "line 3 "),
        (f"{HEADER}\n{line(1)}\n".encode() + b"\x81\n", "windows-1252", "line 3 "),
        (f"{HEADER}\n".encode("utf-16") + b"\x00", "utf-16", "line 2 "),
    ],
)
def test_what_is_no_text_is_named_by_line(
    ledger: Ledger, tmp_path: Path, content: bytes, encoding: str, words: str
) -> None:
    files = f'encoding = "{encoding}"'
    failure = take(ledger, tmp_path / "log.csv", content, files=files).failure
    assert f"{words}cannot be read as {encoding}" in failure


def test_blank_lines_count_as_rows(ledger: Ledger, tmp_path: Path) -> None:
    text = f"\n{HEADER}\n\n{line(1)}\n\n\n{line(2)}\nbad\n"
    taken = take(ledger, tmp_path / "log.csv", text, files="header_row = 2")
    assert held_rows(taken) == [(4, "1"), (7, "2")]
    assert [reject[:2] for reject in taken.rejects] == [(8, "no_date")]
    assert taken.rows_read == 3


def test_a_line_break_in_a_cell_begins_no_row(ledger: Ledger, tmp_path: Path) -> None:
    rows = ['"title\nof two lines"', HEADER, line(1, '"a\r\nb"'), line(2)]
    text = "\n".join([*rows, line(3, depth="deep"), line("")])
    taken = take(ledger, tmp_path / "log.csv", text, files="header_row = 2")
    assert taken.held == [(3, "1", "a\r\nb"), (4, "2", None), (5, "3", None)]
    assert taken.faults == [(5, "hole_depth_mm", "deep")]
    assert [reject[0] for reject in taken.rejects] == [6]


def test_a_line_break_in_a_header(ledger: Ledger, tmp_path: Path) -> None:
    text = HEADER.replace("Nr", '" Nr\n"') + "\n" + line(1)
    assert held_rows(take(ledger, tmp_path / "log.csv", text)) == [(2, "1")]


def test_short_rows_are_padded_and_long_ones_rejected_whole(
    ledger: Ledger, tmp_path: Path
) -> None:
    long = line(2) + ",x,,the last"
    text = f"{HEADER}\n1,2026-05-04,K1,M12-68\n{long}\n{line(3)},,\n"
    taken = take(ledger, tmp_path / "log.csv", text)
    assert held_rows(taken) == [(2, "1"), (4, "3")]  # blank cells are no surplus
    [reject] = taken.rejects
    assert (*reject[:2], reject[3]) == (3, "unreadable_line", long)
    assert reject[2].startswith("9 cells, more than the 6 columns of the header: a te")


@pytest.mark.parametrize(
    "bad",
    [
        '2,2026-05-04,K1,M12-68,92,"open',
        '"2,2026-05-04,K1,M12-68,92,',
        '2,2026-05-04,K1,M12-68,92,"closed" and on',
        '2,"2026"-05-04,K1,M12-68,92,',
    ],
)
@pytest.mark.parametrize("after", [[], [line(4, '"quoted, too"')]])
def test_a_stray_quote_costs_its_own_line_only(
    ledger: Ledger, tmp_path: Path, bad: str, after: list[str]
) -> None:
    text = "\n".join([HEADER, line(1), bad, line(3), *after])
    taken = take(ledger, tmp_path / "log.csv", text)
    rows = [(2, "1"), (4, "3"), *([(5, "4")] if after else [])]
    assert held_rows(taken) == rows
    [(row, code, reason, raw)] = taken.rejects
    assert (row, code, raw) == (3, "unreadable_line", bad)
    assert "quote" in reason


def test_an_inch_sign_is_no_quote(ledger: Ledger, tmp_path: Path) -> None:
    text = "\n".join([HEADER, line(1, '3/4" bit'), line(2)])
    taken = take(ledger, tmp_path / "log.csv", text)
    assert taken.held == [(2, "1", '3/4" bit'), (3, "2", None)]


def test_a_nul_byte_rejects_its_row_and_shows(ledger: Ledger, tmp_path: Path) -> None:
    text = "\n".join([HEADER, line(1), line(2, "a\0b"), line(3)])
    taken = take(ledger, tmp_path / "log.csv", text)
    assert held_rows(taken) == [(2, "1"), (4, "3")]
    [(row, code, reason, raw)] = taken.rejects
    assert (row, code, raw) == (3, "unreadable_line", line(2, "a␀b"))
    assert reason.startswith("NUL bytes in the line: 1")


def test_a_cell_longer_than_a_spreadsheet_holds(ledger: Ledger, tmp_path: Path) -> None:
    fits, over = "x" * 32_767, "x" * 32_768
    text = f"{HEADER}\n{line(1, fits)}\n{line(2, over)}\n{line(3)}\n"
    taken = take(ledger, tmp_path / "log.csv", text)
    assert held_rows(taken) == [(2, "1"), (4, "3")]
    [(row, code, reason, raw)] = taken.rejects
    assert (row, code, raw) == (3, "unreadable_line", line(2, over))
    assert reason == "a cell of 32768 characters, expected at most 32767"


def test_a_line_without_an_end(ledger: Ledger, tmp_path: Path) -> None:
    text = f"{HEADER}\n{line(1)}\n{'y' * 3_000_000}\n{line(3)}\n"
    taken = take(ledger, tmp_path / "log.csv", text)
    assert held_rows(taken) == [(2, "1"), (4, "3")]
    [(row, code, reason, raw)] = taken.rejects
    assert (row, code, len(raw)) == (3, "unreadable_line", 1 << 20)
    assert reason.startswith("a line of 3000001 characters")


def test_too_many_columns_and_rows(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wide = HEADER + "," * 995 + "\n"
    failure = take(ledger, tmp_path / "log.csv", wide).failure
    assert "row 1 has 1001 columns, expected at most 1000" in failure
    monkeypatch.setattr(limits, "MAX_ROWS", 3)
    ordinary = "\n".join([HEADER, *map(line, range(4))])
    for text in (ordinary, ordinary.replace("K1", "K\0")):
        failure = take(ledger, tmp_path / "log.csv", text).failure
        assert "has more than 3 rows" in failure


@pytest.mark.parametrize("text", [HEADER, HEADER + "\n", HEADER + "\r\n\r\n"])
def test_a_header_alone_is_a_receipt_of_no_rows(
    ledger: Ledger, tmp_path: Path, text: str
) -> None:
    assert take(ledger, tmp_path / "log.csv", text).rows_read == 0


@pytest.mark.parametrize("text", ["\n", "\ufeff", "title\n", '"never closed'])
def test_a_file_that_ends_before_its_header(
    ledger: Ledger, tmp_path: Path, text: str
) -> None:
    files = "header_row = 2"
    failure = take(ledger, tmp_path / "log.csv", text, files=files).failure
    assert "the file ends before row 2" in failure


def test_a_header_of_two_rows(ledger: Ledger, tmp_path: Path) -> None:
    rows = ["title", "Nr,When,,Set,,Note", ",Day,Crew,Code,Depth,", line(1)]
    text = "\n".join(rows).replace("Nr,", "Nr,", 1)
    files = "header_row = [2, 3]"
    failure = take(ledger, tmp_path / "log.csv", text, files=files).failure
    assert "has the columns Nr, When Day, When Crew, Set Code, Set Depth, Note" in (
        failure
    )
    flat = text.replace("When,,Set,,", ",,,,").replace("Nr,,,,,Note", "Nr,,,,,")
    # A blank of the upper row takes the text to its left: a merged cell.
    failure = take(ledger, tmp_path / "log.csv", flat, files=files).failure
    assert "has the columns Nr, Nr Day, Nr Crew" in failure


@pytest.mark.parametrize("value", ["[]", "[3, 5]", "[4, 3]", "0", "[0, 1]", '"1"'])
def test_a_senseless_header_row_is_a_fault_of_the_map(
    ledger: Ledger, tmp_path: Path, value: str
) -> None:
    files = f"header_row = {value}"
    failure = take(ledger, tmp_path / "log.csv", HEADER, files=files).failure
    assert "[files] header_row = " in failure


@pytest.mark.parametrize("odd", ["", "\0"])
def test_a_header_that_comes_again_and_totals(
    ledger: Ledger, tmp_path: Path, odd: str
) -> None:
    again = HEADER.replace("Day", " Day ")
    rows = [HEADER, line(1), again, line(2), "Total,,,,184,", ",,Summe: 2,,,"]
    rows += ["Total général,,,,,", "Totally,,,,,", line("Total"), odd]
    taken = take(ledger, tmp_path / "log.csv", "\n".join(rows))
    assert held_rows(taken) == [(2, "1"), (4, "2"), (9, "Total")]
    codes = [(row, code) for row, code, _, _ in taken.rejects]
    expected = [
        (3, "repeated_header"),
        (5, "footer_total"),
        (6, "footer_total"),
        (7, "footer_total"),
        (8, "no_date"),
    ]
    assert codes == expected + ([(10, "unreadable_line")] if odd else [])
    assert taken.rows_read == len(rows) - 1 - (not odd)
    assert "184" in taken.rejects[1][3]


def test_a_name_with_signs_that_are_patterns(ledger: Ledger, tmp_path: Path) -> None:
    """Read by the fast reader, which takes a name for a pattern: no file_row."""
    folder = tmp_path / "area=7"
    folder.mkdir()
    for name in ("log[1].csv", "log*.csv", "log?.csv"):
        taken = take(ledger, folder / name, f"{HEADER}\n{line(1)}\n")
        assert held_rows(taken) == [(2, "1")]
        columns = ledger.execute("describe staged_row").fetchall()
        assert "file_row" not in [column[0] for column in columns]


# The two readers against each other: whatever the fast one takes, the careful one
# reads the same.
def test_the_fast_reader_takes_only_what_both_read_alike(tmp_path: Path) -> None:
    site_map = SiteMap(Path("map.toml"), "", "", "", "UTC", "*", ())
    path = tmp_path / "log.csv"
    con = duckdb.connect(config={"threads": 1})
    chance = random.Random(7)
    pieces = ["a", "", '"q"', '"a,b"', '"x""y"', " z ", '5" p', ' "s"', '"t" ', "é"]
    fast_count = 0
    for _ in range(150):
        end = chance.choice(["\n", "\r\n"])
        rows = [
            ",".join(chance.choice(pieces) for _ in range(chance.choice([3, 3, 2, 4])))
            for _ in range(chance.randint(0, 4))
        ]
        path.write_text(end.join(["h,i,j", *rows]) + end, "utf-8", newline="")
        head = _read_head(path, path, site_map)
        if not _stage_fast(con, path, path, site_map, head):
            continue
        fast_count += 1
        columns = "c1, c2, c3, is_blank_row"
        fast = con.execute(
            f"select rowid + 2, {columns} from staged_row where not is_blank_row"
        ).fetchall()
        _stage_with_care(con, path, path, site_map, head)
        careful = con.execute(
            f"select file_row, {columns} from staged_row where not is_blank_row"
        ).fetchall()
        assert fast == careful, path.read_text("utf-8")
    assert fast_count > 20


# A row's number is its place in the table. Expected: the number that stands in the row.
def test_rows_read_in_many_pieces_keep_their_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.csv"
    rows = 200_000
    path.write_text("h,i\n" + "".join(f"{n + 2},{n:050}\n" for n in range(rows)))
    monkeypatch.setattr(delimited, "BUFFERS_BYTES", 0)
    monkeypatch.setattr(delimited, "LEAST_BUFFER_BYTES", 2_200_000)
    assert path.stat().st_size > 5 * delimited.LEAST_BUFFER_BYTES
    con = duckdb.connect(config={"threads": 4})
    site_map = SiteMap(Path("map.toml"), "", "", "", "UTC", "*", ())
    assert _stage_fast(con, path, path, site_map, _read_head(path, path, site_map))
    counts = con.execute(
        "select count(*), count_if(rowid + 2 = c1::bigint) from staged_row"
    ).fetchall()
    assert counts == [(rows, rows)]


# Expected: the lines of the whole text, however it was cut into pieces to be read.
def test_rows_are_counted_alike_in_pieces_of_any_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.csv"
    chance = random.Random(20261128)
    refused_count = 0
    for _ in range(500):
        lengths = [chance.choice([0, 1, 5, 6, 7, 8]) for _ in range(6)]
        lines = ["x" * length for length in [*lengths, chance.choice([1, 7, 8])]]
        path.write_text(chance.choice(["\n", "\r\n"]).join(lines), newline="")
        content = path.read_bytes()
        monkeypatch.setattr(delimited, "SCAN_BYTES", chance.randint(1, 30))
        monkeypatch.setattr(limits, "MAX_CELL_CHARACTERS", chance.choice([8, 9, 30]))
        # With its break, a line of the limit's length could hold a longer cell.
        longest = max(map(len, content.split(b"\n"))) + 1
        is_refused = longest > limits.MAX_CELL_CHARACTERS
        expected = None if is_refused else len(lines)
        assert _ordinary_row_count(path) == expected, content
        refused_count += is_refused
    assert 100 < refused_count < 400
