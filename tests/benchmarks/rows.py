"""Logs of any length for the benchmarks: a generated block of rows, repeated.

Each repeat has record numbers of its own and days of its own, eight weeks later than
the last, so that many rows mean many years of many sites' work, not denser days.
"""

import json
from pathlib import Path

import duckdb
import polars as pl

from demo_data.generator import generate
from demo_data.setting import SETTING_DATA_PATH
from queries.columns import LOGGED_COLUMNS

BLOCK_ROWS = 250_000
# A distance that stands for "clear" here, so that the floor can read the column too.
FAR_MM = 99_999.0
TYPES = {
    "text": "varchar",
    "code": "varchar",
    "choice": "varchar",
    "number": "double",
    "integer": "integer",
    "yes_no": "boolean",
    "date": "date",
    "instant": "timestamp",
}
# The block's days begin in 2025: earlier repeats lie before it, so that none is in the
# future.
_DAYS_A_BLOCK = 56


def block(rows: int = BLOCK_ROWS) -> pl.DataFrame:
    """Return generated rows in canonical columns, of all sites."""
    frame = generate(rows).installations
    names = [column.name for column in LOGGED_COLUMNS if column.name in frame.columns]
    return frame.select(names).with_columns(
        pl.when(pl.col(pl.Float64).is_infinite())
        .then(FAR_MM)
        .otherwise(pl.col(pl.Float64))
        .name.keep()
    )


def write_log(folder: Path, rows: int) -> None:
    """Write log.csv, its site map, setting_data.csv and the floor's column types."""
    made = block(min(rows, BLOCK_ROWS))
    repeats = -(-rows // made.height)
    with duckdb.connect() as con:
        con.register("made", made.to_arrow())
        _write_csv(
            con,
            f"""
            select made.* replace (
                repeat || '-' || record_id as record_id,
                installed_at - to_days(({_DAYS_A_BLOCK} * repeat)::integer)
                    as installed_at,
                installed_on - ({_DAYS_A_BLOCK} * repeat)::integer as installed_on
            )
            from range({repeats}) as repeats (repeat)
            cross join made
            limit {rows}
            """,
            folder / "log.csv",
        )
    _write_companions(folder, made.columns)


def write_rows(folder: Path, made: pl.DataFrame) -> None:
    """Write rows in canonical columns as log.csv, with its companions."""
    with duckdb.connect() as con:
        con.register("made", made.to_arrow())
        _write_csv(con, "from made", folder / "log.csv")
    _write_companions(folder, made.columns)


def _write_csv(con: duckdb.DuckDBPyConnection, query: str, path: Path) -> None:
    con.execute(
        f"copy ({query}) to '{path}' "
        "(header, timestampformat '%Y-%m-%dT%H:%M', dateformat '%Y-%m-%d')"
    )


def _write_companions(folder: Path, names: list[str]) -> None:
    kinds = {column.name: column.kind for column in LOGGED_COLUMNS}
    columns = "\n".join(f'{name} = "{name}"' for name in names)
    (folder / "log.toml").write_text(
        '[site]\ncode = "BENCH"\nname = "Generated rows"\ntime_zone = "Europe/Lisbon"\n'
        f'[files]\nmatch = "log.csv"\n[columns]\n{columns}\n',
        "utf-8",
    )
    (folder / "setting_data.csv").write_bytes(SETTING_DATA_PATH.read_bytes())
    types = {name: TYPES[kinds[name]] for name in names}
    (folder / "types.json").write_text(json.dumps(types), "utf-8")
