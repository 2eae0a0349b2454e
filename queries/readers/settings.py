"""The setting data in force."""

import duckdb
import polars as pl


def read_setting_data(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return the setting data, one row a setting code, sizes by diameter."""
    return con.sql("select * from setting_data order by diameter_mm, setting_code").pl()
