"""`firmset doubts`: batches that are worth a look."""

import argparse
from datetime import date

import duckdb
import polars as pl

from dashboard.doubt_words import doubt_rows, doubts_words
from dashboard.terminal.options import selection_of
from dashboard.terminal.output import print_frame, print_rows, say
from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.readers.doubts import DOUBTED_AT, read_batch, read_doubts, select_batches
from queries.store import Store


def doubts(args: argparse.Namespace) -> int:
    """Print the batches worth a look, or the rows of one batch."""
    with Store(args.store).reader(args.edition) as con:
        if args.rows:
            print_frame(_one_batch(con, *args.rows), args.form)
            return 0
        selection = selection_of(args, read_choices(con))
        found = read_doubts(con)
    batches = select_batches(found.batches, selection)
    listed = doubt_rows(batches.filter(pl.col("probability") >= DOUBTED_AT))
    if args.form != "table":
        print_frame(listed, args.form)
        return 0
    print_rows(
        ("day", "site", "crew", "installations", "probability", "signs"),
        [
            {
                "day": row["installed_on"],
                "site": row["site_code"],
                "crew": row["crew_code"],
                "installations": row["installations"],
                "probability": f"{100 * min(row['probability'], 0.999):.1f} %",
                "signs": "; ".join(row["signs"]),
            }
            for row in listed.iter_rows(named=True)
        ],
        "table",
    )
    say("\n" + doubts_words(batches).replace(". ", ".\n"))
    _print_explanations(listed)
    return 0


def _print_explanations(listed: pl.DataFrame) -> None:
    explanations = listed.select(pl.col("may_be").explode().unique(maintain_order=True))
    if listed.height:
        say("What it may be:")
        for (text,) in explanations.iter_rows():
            say(f"  {text}")
        say("The rows of one batch: firmset doubts --rows SITE CREW DAY")


def _one_batch(
    con: duckdb.DuckDBPyConnection, site: str, crew: str, day: str
) -> pl.DataFrame:
    try:
        on = date.fromisoformat(day)
    except ValueError as error:
        raise FirmsetError(
            f"--rows {site} {crew} {day}: expected a day as 2026-01-31"
        ) from error
    rows = read_batch(con, site, crew, on)
    if rows.is_empty():
        raise FirmsetError(
            f"--rows {site} {crew} {day}: this crew set nothing at this site on this "
            "day; expected a batch as firmset doubts lists it"
        )
    return rows
