"""All records of a search as a file: CSV as a stream, XLSX up to a worksheet's length.

The rows are read in pieces of some days each, on one edition from first to last, so
that a file of ten million rows needs the memory of one piece.
"""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import duckdb
import polars as pl
from flask import Flask, Response

from dashboard import words
from dashboard.address import View, parse_view
from dashboard.file_answers import TooLong, asked_search, or_words, require_clear
from dashboard.kept import read_kept_choices
from dashboard.records_asked import days_of, read_records_question
from dashboard.records_words import asked_words
from dashboard.shell import NOT_A_CERTIFICATE
from dashboard.spreadsheet import csv_pieces
from dashboard.wish import asked_wish
from dashboard.workbook import MOST_ROWS, XLSX_TYPE, write_workbook
from queries.readers.choices import Choices
from queries.readers.edition import Edition, read_edition
from queries.readers.record_page import read_record_pieces
from queries.readers.record_search import DayCounts, RecordSearch
from queries.readers.records import RATIO_CAUTION
from queries.store import Store


def add_exports(server: Flask, store: Store) -> None:
    """Serve `/csv/records` and `/xlsx/records` with the query string of Records.

    An address that is not wholly understood gives 400 and the reason, a search with
    more rows than a worksheet 413, a store without an edition 503.
    """

    @server.get("/csv/records")
    def records_csv() -> Response:
        return _answer(store, _csv)

    @server.get("/xlsx/records")
    def records_xlsx() -> Response:
        return _answer(store, _xlsx)


class _Export:
    """What one file is made from."""

    def __init__(self, con: duckdb.DuckDBPyConnection, search_text: str) -> None:
        self.con = con
        self.choices: Choices = read_kept_choices(con)
        self.view: View = parse_view(search_text, self.choices)
        question = read_records_question(self.view)
        require_clear([*self.view.problems, *question.problems])
        self.search: RecordSearch = question.search
        self.days: DayCounts = days_of(con, self.search)
        self.edition: Edition = read_edition(con)

    def frames(self) -> Iterator[pl.DataFrame]:
        return read_record_pieces(self.con, self.search, self.days)

    def name(self, ending: str) -> str:
        return f"firmset-records-edition-{self.edition.edition_id}.{ending}"

    def about(self) -> dict[str, str]:
        """Return what the rows are, for the second sheet of a workbook."""
        choices, search = self.choices, self.search
        names = dict(choices.sites)
        return {
            "Edition": f"{self.edition.edition_id}, published "
            f"{words.instant(self.edition.published_at)}",
            "Records": str(self.days.total),
            "Filters": words.scope(
                search.selection, choices.first_on, choices.last_on, names
            ),
            "Asked for": asked_words(search),
            "Source": "file_name and source_row: the site's file and the row in it",
            "cone_ratio": RATIO_CAUTION,
            "Note": NOT_A_CERTIFICATE,
        }


def check_length(total: int) -> None:
    """Raise TooLong where a worksheet cannot hold so many records."""
    if total > MOST_ROWS:
        raise TooLong(
            f"{words.count(total)} records match; a worksheet holds "
            f"{words.count(MOST_ROWS)}. Take the CSV, which has no limit, or filter "
            "further."
        )


Make = Callable[[_Export, ExitStack], Response]


@or_words
def _answer(store: Store, make: Make) -> Response:
    # The reader outlives this function: a stream reads as long as it is sent.
    with ExitStack() as stack:
        search = asked_search()
        wanted = asked_wish(search)
        require_clear(wanted.problems)
        con = stack.enter_context(store.reader(wanted.edition_id))
        response = make(_Export(con, search), stack)
        response.call_on_close(stack.pop_all().close)
        return response


def _csv(export: _Export, stack: ExitStack) -> Response:
    return Response(
        csv_pieces(export.frames()),
        content_type="text/csv; charset=utf-8",
        headers=_as_file(export.name("csv")),
    )


def _xlsx(export: _Export, stack: ExitStack) -> Response:
    check_length(export.days.total)
    folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="firmset-"))
    path = Path(folder) / "records.xlsx"
    write_workbook(path, export.frames(), export.about())
    file = stack.enter_context(path.open("rb"))
    return Response(
        iter(lambda: file.read(1 << 16), b""),
        content_type=XLSX_TYPE,
        headers=_as_file(export.name("xlsx")),
    )


def _as_file(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}
