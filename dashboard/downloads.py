"""The numbers behind every figure as CSV, from the same readers as the pages."""

from collections.abc import Callable, Mapping

import duckdb
import polars as pl
from flask import Flask, Response

from dashboard.address import View
from dashboard.doubt_words import doubt_rows
from dashboard.drilling_asked import (
    drilling_data,
    offered_of,
    read_options,
    read_question,
)
from dashboard.file_answers import (
    UnclearQuestion,
    asked_file,
    or_words,
    plain_words,
)
from dashboard.kept import (
    read_kept_changes,
    read_kept_doubts,
    read_kept_revised,
    read_kept_unlogged,
)
from dashboard.life_table import add_lost
from dashboard.pages.retraining import read_list, read_register
from dashboard.spreadsheet import csv_text
from dashboard.training_rows import COLUMNS, result_row
from queries.readers.comparison import read_comparison
from queries.readers.corrections import read_corrections
from queries.readers.crossed import read_crossed
from queries.readers.doubts import read_batch, select_batches
from queries.readers.drilling import read_drilling_depths, read_drilling_summary
from queries.readers.drilling_options import SCHEMA
from queries.readers.edition import read_edition
from queries.readers.intake import read_receipts
from queries.readers.rates import read_rates
from queries.readers.records import read_nonconforming_by_ratio
from queries.readers.revised import changed_records, read_first_rates
from queries.readers.settings import read_setting_data
from queries.readers.trend import read_limits
from queries.statistics.drilling_effects import site_effects
from queries.store import Store

Answer = Callable[[duckdb.DuckDBPyConnection, View], pl.DataFrame]


def _rates(*by: str) -> Answer:
    def answer(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
        return read_rates(con, by, view.selection)

    return answer


# A trend is of one check, the one that the page shows.
def _weeks(key: str) -> Answer:
    def answer(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
        weeks = read_rates(con, [key, "week"], view.one_check)
        limits = read_limits(con, view.one_check, key)
        return weeks.join(limits, on=[key, "week"], how="left", maintain_order="left")

    return answer


def _comparison(by: str) -> Answer:
    def answer(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
        return read_comparison(con, by, view.check_name, view.selection).groups

    return answer


def _changes(by: str) -> Answer:
    def answer(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
        return read_kept_changes(con, by, view.selection).looks

    return answer


def _first_rates(by: str) -> Answer:
    def answer(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
        revised = read_kept_revised(con)
        return read_first_rates(con, by, view.selection, view.check_name, revised)

    return answer


def _crossed(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    found = read_crossed(con, view.check_name, view.selection).crews
    return found.with_columns(pl.col("inspectors").list.join(", "))


def _doubts(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    found = read_kept_doubts(con)
    return doubt_rows(select_batches(found.listed, view.selection))


def _batch(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    chosen = view.selection
    if (
        len(chosen.site_codes) != 1
        or len(chosen.crew_codes) != 1
        or chosen.from_on is None
        or chosen.from_on != chosen.to_on
    ):
        raise UnclearQuestion("Expected one site, one crew and one day (from and to).")
    return read_batch(con, chosen.site_codes[0], chosen.crew_codes[0], chosen.from_on)


def _trainings(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    rows = [result_row(result) for result in read_register(con, view)]
    return pl.DataFrame(rows, schema=list(COLUMNS), infer_schema_length=None)


def _options(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    """The embedments compared; where they cannot be, a row each with the reason."""
    question = read_question(view, drilling_data(con), offered_of(con))
    found = read_options(con, question)
    if not isinstance(found, str):
        return found.options
    return pl.DataFrame(
        [
            {"anchor_size": question.anchor_size, "embedment_mm": mm, "note": found}
            for mm in question.embedments_mm
        ],
        schema=SCHEMA,
    )


def _sites(con: duckdb.DuckDBPyConnection, view: View) -> pl.DataFrame:
    """Each site's effect; without a model the sites with their attempts alone."""
    data = drilling_data(con)
    if data.model is None:
        return data.fates.select("site", "attempts", "used")
    return site_effects(data.model)


QUESTIONS: Mapping[str, Answer] = {
    "sites": _rates("site"),
    "crews": _rates("crew"),
    "site-changes": _changes("site"),
    "crew-changes": _changes("crew"),
    "site-comparison": _comparison("site"),
    "crew-comparison": _comparison("crew"),
    "site-revised": _first_rates("site"),
    "crew-revised": _first_rates("crew"),
    "revised-records": lambda con, view: changed_records(
        read_kept_revised(con), view.selection, view.check_name
    ),
    "unlogged": lambda con, view: read_kept_unlogged(con, view.selection),
    "crew-weeks": _weeks("crew"),
    "retraining": lambda con, view: read_list(con, view).entries,
    "trainings": _trainings,
    "size-weeks": _weeks("anchor_size"),
    "crossed-crews": _crossed,
    "doubts": _doubts,
    "batch": _batch,
    "drilling": lambda con, view: read_drilling_summary(con, view.selection),
    "drilling-options": _options,
    "drilling-times": lambda con, view: drilling_data(con).fates,
    "drilling-sites": _sites,
    "drilling-depths": lambda con, view: add_lost(
        read_drilling_depths(con, view.selection)
    ),
    "nonconforming-by-ratio": lambda con, view: read_nonconforming_by_ratio(
        con, view.selection
    ),
    "receipts": lambda con, view: read_receipts(con),
    "rejects": lambda con, view: read_corrections(con),
    "setting-data": lambda con, view: read_setting_data(con),
}


def add_downloads(server: Flask, store: Store) -> None:
    """Serve `/csv/<question>?<filters of the page>`.

    Lengths are in mm and torques in Nm, as the last word of a column's name says,
    whatever units the pages show. Unlike a page, a file has no place for a notice: an
    address that is not wholly understood gives 400 and the reason, an unknown question
    404, an edition that is not kept 410.
    """

    @server.get("/csv/<question>")
    @or_words
    def download(question: str) -> Response:
        answer = QUESTIONS.get(question)
        if answer is None:
            return plain_words(f"No such file; there are: {', '.join(QUESTIONS)}.", 404)
        with asked_file(store) as (con, view, _):
            text = csv_text(answer(con, view))
            edition_id = read_edition(con).edition_id
        name = f"firmset-{question}-edition-{edition_id}.csv"
        return Response(
            text,
            content_type="text/csv; charset=utf-8",
            headers={"Content-Disposition": f'attachment; filename="{name}"'},
        )
