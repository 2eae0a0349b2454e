"""The section of batches whose record is worth a look."""

from dataclasses import replace

import duckdb
import polars as pl
from dash import html

from dashboard import words
from dashboard.address import View, format_search
from dashboard.doubt_words import crew_rows, doubt_rows, doubts_words
from dashboard.kept import read_kept_doubts
from dashboard.pages.common import count_column
from dashboard.parts import Cell, Column, Row, csv_link, section, table
from queries.readers.doubted_rates import read_doubted_rates
from queries.readers.doubts import BATCH, DOUBTED_AT, select_batches
from queries.readers.rates import read_rates

# Rows of days in all, and at least for each crew.
LONGEST, LEAST = 100, 10
HEADING = "Records worth a look"


def doubted_section(con: duckdb.DuckDBPyConnection, view: View) -> html.Section:
    """Return the batches worth a look, and what they do to each crew's range."""
    csv = csv_link(
        "/csv/doubts" + format_search(view.selection), "batches worth a look"
    )
    found = read_kept_doubts(con)
    batches = select_batches(found.batches, view.selection)
    listed = batches.filter(pl.col("probability") >= DOUBTED_AT)
    crews = crew_rows(listed)
    longest = max(LONGEST // max(len(crews), 1), LEAST)
    said = doubts_words(batches)
    body = [
        table(crews, _crew_columns(), caption="Crews with batches worth a look"),
        html.Div(
            [_days(row, listed, view, longest) for row in crews], className="behind"
        ),
        _by_crew(con, view, listed),
    ]
    return section(HEADING, said, *(body if crews else []), csv)


def _crew_columns() -> list[Column]:
    return [
        Column("Crew", lambda row: row["crew_code"]),
        Column("Sites", lambda row: ", ".join(row["site_codes"])),
        count_column("Batches", "batches"),
        count_column("Installations", "installations"),
        Column("First day", lambda row: words.day(row["first_on"])),
        Column("Last day", lambda row: words.day(row["last_on"])),
        Column("Signs", lambda row: "; ".join(row["signs"]), is_prose=True),
        Column("May be", lambda row: "; ".join(row["may_be"]), is_prose=True),
    ]


def _days(crew: Row, listed: pl.DataFrame, view: View, longest: int) -> html.Details:
    """Return one crew's batches, day by day, folded away; at most so many."""
    code = crew["crew_code"]
    own = listed.filter(pl.col("crew_code") == code)
    rows = doubt_rows(own.head(longest)).to_dicts()
    of = f", {len(rows)} of {own.height}; the CSV has all" * (len(rows) < own.height)
    return html.Details(
        [
            html.Summary(f"Table: crew {code} day by day{of}"),
            table(
                rows,
                [
                    Column("Day", lambda row: _day(row, view)),
                    Column("Site", lambda row: row["site_code"]),
                    count_column("Installations", "installations"),
                    Column("Probability", _probability, is_number=True),
                    Column("Signs", lambda row: "; ".join(row["signs"]), is_prose=True),
                ],
                caption=f"Batches worth a look of crew {code}",
                look="tall",
            ),
        ]
    )


def _day(row: Row, view: View) -> Cell:
    """The day, leading to the batch's rows as a file."""
    one = replace(
        view.selection,
        site_codes=(row["site_code"],),
        crew_codes=(row["crew_code"],),
        from_on=row["installed_on"],
        to_on=row["installed_on"],
    )
    return Cell(
        words.day(row["installed_on"]),
        small="rows as CSV",
        href="/csv/batch" + format_search(one),
    )


def _probability(row: Row) -> str:
    return f"{'>' if row['probability'] > 0.999 else ''}" + words.percent(
        min(row["probability"], 0.999)
    )


def _by_crew(
    con: duckdb.DuckDBPyConnection, view: View, listed: pl.DataFrame
) -> html.Div:
    """Return how far each crew's range of truth widens if its batches are unknown."""
    plain = read_rates(con, ["crew"], view.one_check)
    wide = read_doubted_rates(con, ["crew"], view.one_check, listed.select(BATCH))
    number = listed.group_by(pl.col("crew_code").alias("crew")).agg(
        pl.len().alias("batches")
    )
    rows = (
        wide.join(
            plain.select(
                "crew",
                pl.col("rate_if_unrecorded_conform").alias("plain_low"),
                pl.col("rate_if_unrecorded_not").alias("plain_high"),
            ),
            on="crew",
        )
        .join(number, on="crew")
        .sort("crew")
    )
    check = words.title(view.check_name)
    return table(
        rows.to_dicts(),
        [
            Column("Crew", lambda row: row["crew"]),
            count_column("Batches worth a look", "batches"),
            count_column("Judged", "judged"),
            count_column("of these in such batches", "doubted"),
            Column("Rate", lambda row: words.percent(row["rate"]), is_number=True),
            Column(
                "Range of truth",
                lambda row: words.interval(row["plain_low"], row["plain_high"]),
                is_number=True,
            ),
            Column(
                "if these batches are unknown",
                lambda row: words.interval(
                    row["rate_if_unrecorded_conform"], row["rate_if_unrecorded_not"]
                ),
                is_number=True,
            ),
        ],
        caption=f"{check}: range of truth if batches worth a look are unknown",
    )
