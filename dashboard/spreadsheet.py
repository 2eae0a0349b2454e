"""Frames as CSV: no text in them is run by a spreadsheet (queries/spreadsheet_text.py).

Only texts are changed; numbers, negative ones too, stay numbers.
"""

from collections.abc import Iterator

import polars as pl

from queries.spreadsheet_text import disarmed, disarmed_column

INSTANT = "%Y-%m-%dT%H:%M:%S%:z"


def csv_text(frame: pl.DataFrame, *, with_head: bool = True) -> str:
    """Return a frame as CSV; no text cell or name starts a formula.

    Lists are joined by "; ", an infinite distance is the word clear, instants are ISO
    8601 to the second.
    """
    return (
        safe_cells(frame)
        .rename(disarmed)
        .write_csv(include_header=with_head, datetime_format=INSTANT)
    )


def csv_pieces(frames: Iterator[pl.DataFrame]) -> Iterator[str]:
    """Yield frames of the same columns as one CSV text, piece by piece."""
    for number, frame in enumerate(frames):
        yield csv_text(frame, with_head=number == 0)


def safe_cells(frame: pl.DataFrame) -> pl.DataFrame:
    """Return a frame with its lists as texts, clear distances named, texts disarmed."""
    return plain_cells(frame).with_columns(disarmed_column(pl.col(pl.String)))


def plain_cells(frame: pl.DataFrame) -> pl.DataFrame:
    """Return a frame with its lists joined as texts and clear distances named."""
    lists = [name for name, kind in frame.schema.items() if kind == pl.List]
    clear = [
        name
        for name, kind in frame.schema.items()
        if kind.is_float() and frame[name].is_infinite().any()
    ]
    return frame.with_columns(
        *(pl.col(name).cast(pl.List(pl.String)).list.join("; ") for name in lists),
        *(
            pl.when(pl.col(name).is_infinite())
            .then(pl.lit("clear"))
            .otherwise(pl.col(name).cast(pl.String))
            .alias(name)
            for name in clear
        ),
    )
