"""Closed forms against published tables and a reference library."""

import duckdb
import pytest
from statsmodels.stats.proportion import proportion_confint

from queries.build import create_schema

Z_998 = 3.090232306167813  # 99.9 % point of the normal distribution, Python statistics


@pytest.fixture(scope="module")
def con() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect()
    create_schema(con)
    return con


def wilson(
    con: duckdb.DuckDBPyConnection, x: int, n: int, z: float | None = None
) -> tuple[float | None, float | None]:
    extra = "" if z is None else f", z := {z}"
    row = con.execute(
        f"select wilson_low({x}, {n}{extra}), wilson_high({x}, {n}{extra})"
    ).fetchone()
    assert row is not None
    return row


# UK public health indicator methods, R package PHEindicatormethods, test spreadsheet
# testdata_Byars_Wilson (calculated in a spreadsheet, six decimals).
@pytest.mark.parametrize(
    ("x", "n", "z", "low", "high"),
    [
        (65, 100, None, 0.552544, 0.736358),
        (1045, 5000, None, 0.197955, 0.220491),
        (65, 100, Z_998, 0.495495, 0.778354),
        (1045, 5000, Z_998, 0.191794, 0.227316),
    ],
)
def test_wilson_published_spreadsheet(
    con: duckdb.DuckDBPyConnection,
    x: int,
    n: int,
    z: float | None,
    low: float,
    high: float,
) -> None:
    assert wilson(con, x, n, z) == pytest.approx((low, high), abs=5.1e-7)


# Newcombe 1998, Statistics in Medicine 17:857-872, table I, method 3 (Wilson score
# without continuity correction), four decimals; from memory.
@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_newcombe_1998(
    con: duckdb.DuckDBPyConnection, x: int, n: int, low: float, high: float
) -> None:
    assert wilson(con, x, n) == pytest.approx((low, high), abs=5.1e-5)


@pytest.mark.parametrize("n", [1, 2, 30, 400, 250_000])
def test_wilson_against_statsmodels(con: duckdb.DuckDBPyConnection, n: int) -> None:
    for x in {0, 1, n // 3, n - 1, n}:
        expected = proportion_confint(x, n, alpha=0.05, method="wilson")
        assert wilson(con, x, n) == pytest.approx(expected, abs=1e-12)


def test_wilson_nothing_judged(con: duckdb.DuckDBPyConnection) -> None:
    assert wilson(con, 0, 0) == (None, None)


# US practice (ICC-ES AC193, ACI 355.2), from memory: A 1.5-2 in, H 5-5.5 in,
# Q 9.5-10 in, R 10-11 in, Z 18-19 in.
@pytest.mark.parametrize(
    ("mark", "from_in", "to_in"),
    [
        ("A", 1.5, 2),
        ("H", 5, 5.5),
        ("Q", 9.5, 10),
        ("R", 10, 11),
        ("Z", 18, 19),
        ("AA", None, None),
        ("7", None, None),
    ],
)
def test_length_marks(
    con: duckdb.DuckDBPyConnection, mark: str, from_in: float, to_in: float
) -> None:
    found = con.execute(
        "select mark_from_mm($m) / 25.4, mark_to_mm($m) / 25.4", {"m": mark}
    ).fetchone()
    assert found == (
        pytest.approx(from_in) if from_in else None,
        pytest.approx(to_in) if to_in else None,
    )
