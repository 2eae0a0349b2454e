"""One ledger in memory for the tests of a module; each file is a site of its own."""

from collections.abc import Iterator

import duckdb
import pytest

from tests.etl.taking import open_memory


@pytest.fixture(scope="module")
def ledger(
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Return an open ledger in memory with setting data."""
    con = open_memory(tmp_path_factory.mktemp("ledger"))
    yield con
    con.close()
