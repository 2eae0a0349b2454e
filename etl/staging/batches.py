"""Put rows that Python read into staged_row, a batch at a time."""

from collections.abc import Iterable, Sequence

import duckdb
import polars as pl

from etl.staging import limits
from queries.errors import FirmsetError

BATCH_CELLS = 200_000
BATCH_CHARACTERS = 8_000_000

# file_row, line_fault, line, and the cells; blank cells are '' or None.
Row = tuple[int, str | None, str | None, Sequence[str | None]]


def stage_rows(
    con: duckdb.DuckDBPyConnection, rows: Iterable[Row], width: int, named: str
) -> None:
    """Make staged_row of rows with `width` cells each, in their order.

    Columns: c1, c2, ..., is_blank_row, file_row, line_fault, line. `named` is the file
    for an error. Raises FirmsetError over MAX_ROWS.
    """
    columns = [f"c{i + 1}" for i in range(width)]
    cells = ", ".join(f"{column} varchar" for column in columns)
    con.execute(
        f"""
        create or replace temp table staged_row (
            {cells}, is_blank_row boolean,
            file_row bigint, line_fault varchar, line varchar
        )
        """
    )
    count = 0
    for batch in _batches(rows, width):
        count += len(batch)
        if count > limits.MAX_ROWS:
            raise FirmsetError(f"{named}: has more than {limits.MAX_ROWS} rows")
        _insert(con, batch, columns)


def _batches(rows: Iterable[Row], width: int) -> Iterable[list[Row]]:
    batch: list[Row] = []
    characters = 0
    for row in rows:
        batch.append(row)
        characters += len(row[2] or "")
        if len(batch) * width >= BATCH_CELLS or characters >= BATCH_CHARACTERS:
            yield batch
            batch, characters = [], 0
    if batch:
        yield batch


def _insert(
    con: duckdb.DuckDBPyConnection, batch: list[Row], columns: list[str]
) -> None:
    file_rows, faults, lines, cells = zip(*batch, strict=True)
    frame = pl.DataFrame(
        {
            **dict(zip(columns, zip(*cells, strict=True), strict=True)),
            "file_row": file_rows,
            "line_fault": faults,
            "line": lines,
        },
        schema={
            **dict.fromkeys(columns, pl.String),
            "file_row": pl.Int64,
            "line_fault": pl.String,
            "line": pl.String,
        },
    )
    held = ", ".join(f"nullif({column}, '')" for column in columns)
    filled = ", ".join(f"nullif(trim({column}), '')" for column in columns)
    con.register("staged_batch", frame)
    try:
        con.execute(
            f"""
            insert into staged_row
            select
                {held},
                line_fault is null and coalesce({filled}) is null,
                file_row, line_fault, line
            from staged_batch
            """
        )
    finally:
        con.unregister("staged_batch")
