"""The schema in the database is the one the code speaks of."""

import duckdb
import pytest

from etl.value_sql import SQL_TYPES
from queries.build import FOLDER, VIEW_NAMES, create_schema
from queries.check_file import CHECK_FOLDER
from queries.columns import LOGGED_COLUMNS
from queries.judgement import CHECK_NAMES, HEADLINE_NAMES, all_checks


@pytest.fixture
def con() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect()
    create_schema(con)
    return con


def test_view_names_are_the_files_on_disk() -> None:
    files = {path.stem for path in (FOLDER / "views").glob("*.sql")}
    assert set(VIEW_NAMES) == files | {"installation_verdict", "tally_check"}


def test_check_names_are_the_files_on_disk() -> None:
    assert set(CHECK_NAMES) == {path.stem for path in CHECK_FOLDER.glob("*.sql")}
    assert set(HEADLINE_NAMES) <= set(CHECK_NAMES)


def test_every_check_says_what_it_compares() -> None:
    for check in all_checks():
        texts = (check.title, check.rule, check.unrecorded, check.source)
        assert all(texts), check.name


def test_installation_has_the_canonical_columns(
    con: duckdb.DuckDBPyConnection,
) -> None:
    described = {
        name: sql_type.lower().replace("timestamp with time zone", "timestamptz")
        for name, sql_type, *_ in con.execute("describe installation").fetchall()
    }
    expected = {column.name: SQL_TYPES[column.kind] for column in LOGGED_COLUMNS}
    assert {name: described[name] for name in expected} == expected


def test_superseded_installation_has_the_same_columns(
    con: duckdb.DuckDBPyConnection,
) -> None:
    def columns(table: str) -> list[tuple[str, str]]:
        rows = con.execute(f"describe {table}").fetchall()
        return [(name, sql_type) for name, sql_type, *_ in rows]

    assert columns("superseded_installation") == columns("installation")


def test_a_receipt_that_does_not_add_up_is_refused(
    con: duckdb.DuckDBPyConnection,
) -> None:
    insert = """
        insert into source_file values
        (1, 'installations', 'S', 'f', 'x', 1, null, now(), {counts}, 0, [], [],
        null)
    """
    con.execute(insert.format(counts="10, 7, 1, 1, 1"))
    with pytest.raises(duckdb.ConstraintException):
        con.execute(insert.format(counts="10, 7, 1, 1, 0"))
