"""Parquet: every column as a text that reads back as the value it was.

Expected texts: ISO 8601 for times, and for doubles the shortest decimal that reads
back as the same double (Python's repr).
"""

import math
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import duckdb
import polars as pl
import pytest

from etl.site_map import read_site_map
from etl.staging import stage_file
from tests.etl.taking import MAP, take

Ledger = duckdb.DuckDBPyConnection


def log(**columns: object) -> pl.DataFrame:
    fixed = {
        "Nr": [1, 2],
        "Day": [date(2026, 5, 4), date(2026, 5, 5)],
        "Crew": ["K1", "K1"],
        "Code": ["M12-68", "M12-68"],
        "Depth": [92.5, None],
        "Note": [None, "größer"],
    }
    return pl.DataFrame(fixed | columns, strict=False)


def test_a_record_is_a_row_counted_from_one(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    log().write_parquet(path)
    taken = take(ledger, path)
    assert taken.held == [(1, "1", None), (2, "2", "größer")], taken.failure
    renamed = path.rename(tmp_path / "log[1].csv")  # its bytes say what it is
    assert take(ledger, renamed).held == taken.held


def test_values_read_back_as_they_were(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    doubles = [0.1 + 0.2, 1.7976931348623157e308]
    log(
        double=doubles,
        decimal=[Decimal("1.10"), Decimal("-0.05")],
        local=[datetime(2026, 5, 4, 7, 45), None],
        instant=[datetime(2026, 5, 4, 7, 45, 0, 125000, UTC), None],
        nested=[{"a": [1, None]}, {"a": []}],
        listed=[["x", 'y"'], None],
        flag=[True, None],
    ).write_parquet(path)
    (tmp_path / "m.toml").write_text(
        MAP.format(site="P", files="", fill_down="false"), "utf-8"
    )
    staged = stage_file(ledger, path, read_site_map(tmp_path / "m.toml"))
    columns = ", ".join(
        staged.cell_sql(name)
        for name in [
            "double",
            "decimal",
            "local",
            "instant",
            "nested",
            "listed",
            "flag",
        ]
    )
    first, second = ledger.execute(f"select {columns} from staged_row").fetchall()
    assert [float(row[0]) for row in (first, second)] == doubles
    assert math.isclose(float(first[0]), 0.3, rel_tol=1e-9)
    assert first[1:] == (
        "1.10",
        "2026-05-04T07:45:00",
        "2026-05-04T07:45:00.125+00",
        '{"a":[1,null]}',
        '["x","y\\""]',
        "true",
    )
    assert second[1:] == ("-0.05", None, None, '{"a":[]}', None, None)


def test_a_file_without_rows(ledger: Ledger, tmp_path: Path) -> None:
    log().clear().write_parquet(tmp_path / "log.parquet")
    assert take(ledger, tmp_path / "log.parquet").rows_read == 0


def test_damaged_files_are_refused_in_words(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    log().write_parquet(path)
    whole = path.read_bytes()
    middle = len(whole) // 2
    for content in (whole[:-6], whole[:20], b"PAR1", b"PAR1" + bytes(60) + b"PAR1"):
        failure = take(ledger, path, content).failure
        assert "is a damaged Parquet file" in failure
        assert "\n" not in failure
    torn = whole[: middle - 20] + bytes(40) + whole[middle + 20 :]
    assert take(ledger, path, torn).failure.startswith(f"{path}: ")


def test_too_many_columns(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    pl.DataFrame({f"x{i}": [1] for i in range(1001)}).write_parquet(path)
    assert "has 1001 columns, expected at most 1000" in take(ledger, path).failure


def test_missing_columns_are_named(ledger: Ledger, tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    log().drop("Crew").write_parquet(path)
    assert "crew_code from 'Crew'" in take(ledger, path).failure


@pytest.mark.parametrize("rows", [51_000_000])
def test_more_rows_than_are_taken(ledger: Ledger, tmp_path: Path, rows: int) -> None:
    """A constant column packs to next to nothing: the count is in the file's end."""
    path = tmp_path / "log.parquet"
    con = duckdb.connect()
    con.execute(
        f"copy (select 1::tinyint as a from range({rows})) to ? "
        "(format parquet, row_group_size 10000000)".replace("?", f"'{path}'")
    )
    assert "has 51000000 rows, expected at most 50000000" in take(ledger, path).failure


@pytest.mark.parametrize("decimal", [".", ","])
def test_a_whole_number_written_as_a_fraction_is_the_same_record(
    ledger: Ledger, tmp_path: Path, decimal: str
) -> None:
    # A column of whole numbers with one blank is one of fractions in common tools.
    path = tmp_path / "log.parquet"
    log(Nr=[7.0, 10.0]).write_parquet(path)
    taken = take(ledger, path, files=f'decimal = "{decimal}"')
    assert [row[1] for row in taken.held] == ["7", "10"], taken.failure
