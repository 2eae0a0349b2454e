"""Stage a Parquet file, turned to texts in a process of its own."""

from pathlib import Path

import duckdb

from etl.sandbox.parquet import NAMES_NAME, TEXTS_NAME
from etl.sandbox.run import parse_apart
from etl.site_map import SiteMap
from etl.staging.staged_file import StagedFile, unique_headers


def stage_parquet(
    con: duckdb.DuckDBPyConnection, path: Path, site_map: SiteMap, folder: Path
) -> StagedFile:
    """Stage all columns; row 1 is the first record, since names stand apart."""
    parse_apart("parquet", path, folder, site_map.decimal, instead="send it as CSV")
    names = (folder / NAMES_NAME).read_text("utf-8").split("\n")
    cells = ", ".join(f"nullif(trim(c{i + 1}), '')" for i in range(len(names)))
    con.execute(
        f"""
        create or replace temp table staged_row as
        select *, coalesce({cells}) is null as is_blank_row
        from read_parquet($parsed, hive_partitioning = false)
        """,
        {"parsed": str(folder / TEXTS_NAME)},
    )
    return StagedFile(path, unique_headers(names), first_row=1)
