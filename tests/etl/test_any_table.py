"""One table of any texts says the same in every format that it is sent in.

Rows are counted by the test itself, and the formats are written by libraries that
firmset does not read with: the csv, json and gzip modules, XlsxWriter and Polars.
"""

import csv
import gzip
import io
import json
from collections.abc import Callable
from pathlib import Path

import duckdb
import polars as pl
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.etl.taking import HEADER, Taken, take
from tests.examples import examples

Table = list[list[str]]
HEADS = HEADER.split(",")

# Texts that a sheet of a workbook can hold too: no control characters. Among them the
# words that make a row readable, so that both kinds of rows come up.
texts = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Cf", "Zl", "Zp"]), max_size=8
)
cells = texts | st.sampled_from(
    ["", " ", "2026-05-04", "K1", "M12-68", "92", "9,5", "total", "1", "2", '"', ";"]
)
whole = st.tuples(
    st.sampled_from(["1", "2", "3"]),
    st.just("2026-05-04"),
    st.just("K1"),
    st.just("M12-68"),
    cells,
    cells,
).map(list)
blank = st.lists(st.sampled_from(["", " "]), min_size=len(HEADS), max_size=len(HEADS))
tables = st.lists(
    whole | blank | st.lists(cells, min_size=len(HEADS), max_size=len(HEADS)),
    min_size=1,
    max_size=6,
)


def as_csv(table: Table, path: Path) -> None:
    lines = io.StringIO()
    csv.writer(lines).writerows([HEADS, *table])
    content = lines.getvalue().encode("utf-8")
    path.write_bytes(gzip.compress(content) if path.suffix == ".gz" else content)


def as_utf16(table: Table, path: Path) -> None:
    lines = io.StringIO()
    csv.writer(lines, delimiter=";").writerows([HEADS, *table])
    path.write_bytes(lines.getvalue().encode("utf-16"))


def as_json_lines(table: Table, path: Path) -> None:
    lines = [json.dumps(dict(zip(HEADS, row, strict=True))) for row in table]
    path.write_text("".join(f"{line}\n" for line in lines), "utf-8")


def as_json_list(table: Table, path: Path) -> None:
    records = [dict(zip(HEADS, row, strict=True)) for row in table]
    path.write_text(json.dumps(records, indent=1), "utf-8")


def as_json_object(table: Table, path: Path) -> None:
    rows = [dict(zip(HEADS, row, strict=True)) for row in table]
    document = {"made": {"by": 7}, "pages": [{"rows": []}, {}], "a": {"rows": rows}}
    path.write_text(json.dumps(document), "utf-8")


def aside(table: Table) -> Table:
    """Return the table on its side, the names below one another."""
    return [list(cells) for cells in zip(HEADS, *table, strict=True)]


def as_csv_aside(table: Table, path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as target:
        csv.writer(target).writerows(aside(table))


def as_workbook_aside(table: Table, path: Path) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate(aside(table)):
            for place, cell in enumerate(row):
                sheet.write_string(number, place, cell)


def as_workbook(table: Table, path: Path) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        for number, row in enumerate([HEADS, *table]):
            for place, cell in enumerate(row):
                sheet.write_string(number, place, cell)


def as_parquet(table: Table, path: Path) -> None:
    frame = pl.DataFrame(table, schema=dict.fromkeys(HEADS, pl.String), orient="row")
    frame.write_parquet(path)


# name -> (writer, the site map's [files], rows above the first of the table)
FORMATS: dict[str, tuple[Callable[[Table, Path], None], str, int]] = {
    "log.csv": (as_csv, "", 1),
    "log.csv.gz": (as_csv, "", 1),
    "wide.csv": (as_utf16, 'encoding = "utf-16"\ndelimiter = ";"', 1),
    "log.jsonl": (as_json_lines, "", 0),
    "log.json": (as_json_list, "", 0),
    "object.json": (as_json_object, 'records = "/a/rows"', 0),
    "aside.csv": (as_csv_aside, "sideways = true", 1),
    "aside.xlsx": (as_workbook_aside, "sideways = true", 1),
    "log.xlsx": (as_workbook, "", 1),
    "log.parquet": (as_parquet, "", 0),
}


def is_blank(row: list[str]) -> bool:
    return not any(cell.strip(" ") for cell in row)


def said(taken: Taken, rows_above: int) -> object:
    """Return what became of the rows, told by their place in the table."""
    assert taken.receipt, taken.failure
    return (
        taken.receipt.duplicate,
        [(row - rows_above, record, note) for row, record, note in taken.held],
        [(row - rows_above, code) for row, code, *_ in taken.rejects],
        [(row - rows_above, name, raw.strip()) for row, name, raw in taken.faults],
    )


def test_every_format_says_the_same(
    ledger: duckdb.DuckDBPyConnection, tmp_path: Path
) -> None:
    @settings(
        **examples(4),
        suppress_health_check=list(HealthCheck),
    )
    @given(tables)
    def run(table: Table) -> None:
        answers = {}
        for name, (write, files, rows_above) in FORMATS.items():
            write(table, tmp_path / name)
            taken = take(ledger, tmp_path / name, files=files)
            answers[name] = said(taken, rows_above)
            # A blank line of a text, or row of a sheet, is no row.
            assert taken.rows_read == sum(not is_blank(row) for row in table)
        first = answers["log.csv"]
        assert all(answer == first for answer in answers.values()), answers

    run()
