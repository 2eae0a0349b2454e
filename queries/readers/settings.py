"""The setting data in force."""

import duckdb
import polars as pl

from queries.frames import read_frame


def read_setting_data(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return the setting data, one row a setting code, sizes by diameter."""
    return read_frame(
        con, "select * from setting_data order by diameter_mm, setting_code"
    )
