"""Run a question and give its answer as a Polars frame."""

import warnings
from collections.abc import Mapping

import duckdb
import polars as pl

# A copy of an answer's few rows costs less than having the question bound twice.
warnings.filterwarnings("ignore", message="Arrow output on a DB-API result")


def read_frame(
    con: duckdb.DuckDBPyConnection,
    sql: str,
    parameters: Mapping[str, object] | None = None,
) -> pl.DataFrame:
    """Return the rows of one SELECT; `parameters` are its named parameters.

    Executed outright: a relation (`con.sql`) is bound when it is made and again when
    it is read, and most of what a question costs here is planning.
    """
    answer = con.execute(sql, dict(parameters or {})).to_arrow_reader()
    assert answer is not None
    frame = pl.from_arrow(answer.read_all(), rechunk=False)
    assert isinstance(frame, pl.DataFrame)
    return frame
