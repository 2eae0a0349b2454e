"""A Parquet file's columns as texts that can be read back."""

import re
from pathlib import Path

import duckdb

MAX_ROWS = 50_000_000
MAX_COLUMNS = 1_000
NAMES_NAME = "names"
TEXTS_NAME = "texts.parquet"
FRACTIONAL = ("FLOAT", "DOUBLE", "DECIMAL")
NESTED = ("STRUCT", "MAP", "UNION", "LIST", "VARIANT")


def write_parquet_texts(path: Path, decimal: str, folder: Path) -> None:
    """Write the file's cells as texts; ValueError says in words what is amiss.

    Numbers with all their digits and the sign `decimal`, times as ISO 8601 (with the
    offset where the column has one), nested values as JSON. Writes the columns' names
    apart.
    """
    con = duckdb.connect(config={"memory_limit": "300MB", "threads": 1})
    con.execute("set TimeZone = 'UTC'")
    con.execute("set temp_directory = ''")
    source = re.sub(r"[*?\[]", lambda found: f"[{found[0]}]", str(path))
    try:
        _convert(con, source, decimal, folder)
    except duckdb.OutOfMemoryException as error:
        raise MemoryError from error
    except duckdb.Error as error:
        reason = str(error).splitlines()[0]
        raise ValueError(
            f"is a damaged Parquet file or one of a kind not read here ({reason}); "
            "send it again, or as CSV"
        ) from error


def _convert(
    con: duckdb.DuckDBPyConnection, source: str, decimal: str, folder: Path
) -> None:
    [(row_count,)] = con.execute(
        "select coalesce(sum(num_rows), 0) from parquet_file_metadata($path)",
        {"path": source},
    ).fetchall()
    if row_count > MAX_ROWS:
        raise ValueError(f"has {row_count} rows, expected at most {MAX_ROWS}")
    columns = con.execute(
        "describe select * from read_parquet($path, hive_partitioning = false)",
        {"path": source},
    ).fetchall()
    if len(columns) > MAX_COLUMNS:
        raise ValueError(f"has {len(columns)} columns, expected at most {MAX_COLUMNS}")
    aliases = ", ".join(f"v{i + 1}" for i in range(len(columns)))
    texts = ", ".join(
        f"{_text_sql(f'v{i + 1}', str(column[1]), decimal)} as c{i + 1}"
        for i, column in enumerate(columns)
    )
    con.execute(
        f"""
        copy (
            select {texts}
            from read_parquet($path, hive_partitioning = false) as file({aliases})
        ) to $target (format parquet, row_group_size 20000)
        """,
        {"path": source, "target": str(folder / TEXTS_NAME)},
    )
    names = "\n".join(" ".join(str(column[0]).split()) for column in columns)
    (folder / NAMES_NAME).write_text(names, "utf-8")


def _text_sql(value: str, kind: str, decimal: str) -> str:
    if kind.startswith(NESTED) or kind.endswith("]"):
        return f"to_json({value})::varchar"
    if kind.startswith("TIMESTAMP"):
        return f"replace({value}::varchar, ' ', 'T')"
    if kind.startswith(FRACTIONAL):
        # A column of whole numbers with one blank is often written as fractions, and a
        # record 7.0 is record 7.
        whole = rf"regexp_replace({value}::varchar, '^(-?\d+)\.0+$', '\1')"
        return f"replace({whole}, '.', ',')" if decimal == "," else whole
    return f"{value}::varchar"
