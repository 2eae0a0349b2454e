"""Run a question and give its answer as a Polars frame."""

from collections.abc import Mapping

import duckdb
import polars as pl


def read_frame(
    con: duckdb.DuckDBPyConnection,
    sql: str,
    parameters: Mapping[str, object] | None = None,
) -> pl.DataFrame:
    """Return the rows of one SELECT; `parameters` are its named parameters."""
    frame: pl.DataFrame = con.sql(sql, params=dict(parameters or {})).pl()
    return frame
