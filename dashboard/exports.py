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
from flask import Flask, Response, request

from dashboard import words
from dashboard.address import View, parse_view
from dashboard.downloads import plain_words
from dashboard.records_asked import days_of, read_records_question
from dashboard.records_words import asked_words
from dashboard.shell import NOT_A_CERTIFICATE
from dashboard.spreadsheet import csv_pieces
from dashboard.wish import asked_wish
from dashboard.workbook import MOST_ROWS, write_workbook
from queries.errors import FirmsetError
from queries.pinned import EditionNotKept
from queries.readers.choices import Choices, read_choices
from queries.readers.edition import Edition, read_edition
from queries.readers.record_page import read_record_pieces
from queries.readers.record_search import DayCounts, RecordSearch
from queries.readers.records import RATIO_CAUTION
from queries.store import Store

XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class TooLong(FirmsetError):  # noqa: N818
    """More records match than a worksheet holds."""


class UnclearAddress(FirmsetError):  # noqa: N818
    """The address is not wholly understood; a file has no place for a notice."""


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
        self.choices: Choices = read_choices(con)
        self.view: View = parse_view(search_text, self.choices)
        question = read_records_question(self.view)
        problems = [*self.view.problems, *question.problems]
        if problems:
            raise UnclearAddress("\n".join(problems))
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


def _answer(store: Store, make: Make) -> Response:
    # The reader outlives this function: a stream reads as long as it is sent.
    with ExitStack() as stack:
        try:
            search = request.query_string.decode("latin-1")
            wanted = asked_wish(search)
            if wanted.problems:
                return plain_words("\n".join(wanted.problems), 400)
            con = stack.enter_context(store.reader(wanted.edition_id))
            export = _Export(con, search)
            response = make(export, stack)
        except UnclearAddress as error:
            return plain_words(str(error), 400)
        except TooLong as error:
            return plain_words(str(error), 413)
        except EditionNotKept as error:
            return plain_words(f"{error}.", 410)
        except FirmsetError as error:
            return plain_words(str(error), 503)
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
