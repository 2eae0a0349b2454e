"""Quick ways of reading a cell read what the rules say, and leave the rest alone."""

import re
from collections.abc import Iterator
from datetime import datetime

import duckdb
import pytest

from etl.draft.looks import Looks
from etl.readings import prepare_readings

MOMENTS = ("2025-05-01T06:26", "2024-02-29 23:59", "1999-12-31")
ODD_CHARACTERS = "0159 \t\x0b\u00a0-+/:.TZamp\u0663"
SPACES = " \u00a0"


@pytest.fixture(scope="module")
def con() -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect() as con:
        con.execute("set TimeZone = 'UTC'")
        prepare_readings(con)
        yield con


def read(con: duckdb.DuckDBPyConnection, macro: str, cells: list[str]) -> list[object]:
    rows = con.execute(
        f"select {macro} from (select unnest(?::varchar[]) as cell)", [cells]
    ).fetchall()
    return [value for (value,) in rows]


def with_slips(text: str) -> Iterator[str]:
    """Yield a text with a character changed, put in or left out, or two changed."""
    for i in range(len(text)):
        yield text[:i] + text[i + 1 :]
        for one in ODD_CHARACTERS:
            changed = text[:i] + one + text[i + 1 :]
            yield changed
            yield text[:i] + one + text[i:]
            yield from (changed[:-1] + last for last in ODD_CHARACTERS)


def iso_moment(cell: str) -> datetime | None:
    """Read ISO 8601 by the letter: a date, or a date and hours and minutes."""
    found = re.fullmatch(
        r"\d{4}-\d\d-\d\d([T ]\d\d:\d\d)?", cell.strip(SPACES), re.ASCII
    )
    try:
        return datetime.fromisoformat(found[0]) if found else None
    except ValueError:
        return None


@pytest.mark.parametrize("moment", MOMENTS)
def test_a_moment_is_read_by_the_letter(
    con: duckdb.DuckDBPyConnection, moment: str
) -> None:
    # The long way takes any text of ten characters that casts to a date.
    cells = [
        cell
        for cell in with_slips(moment)
        if len(cell.strip(SPACES)) != 10 or cell == moment
    ]
    assert len(cells) > 500
    assert read(con, "iso_local(cell)", cells) == [iso_moment(cell) for cell in cells]


@pytest.mark.parametrize(
    "cell",
    [
        *("", "-", " - ", "--", "n/a", "N/A", "na", "NULL", "null", "\t-", "#N/A"),
        *("#REF!", "---", "–", "—", "____", "..", "…………", "......", "n.a.", "N. A."),
        "n/r",
    ],
)
def test_words_for_nothing_are_no_text(
    con: duckdb.DuckDBPyConnection, cell: str
) -> None:
    assert read(con, "text_cell(trim(cell))", [cell]) == [None]
    # A draft leaves out what a load does; an error is no blank to either.
    is_error = cell.startswith("#")
    assert read(con, "is_blank(cell)", [cell]) == [not is_error]
    assert bool(Looks((cell.strip(),), ".").filled) == is_error


@pytest.mark.parametrize(
    "cell",
    [
        *("nab", "N", "Null 2", "na-1", "M", "m", "o", "O", "Ñ", ".", "0", "#12"),
        *("- 3", "_", "_x", "..1", "…a", "– 3", "Éire", "ß", "n.b.", "Nacre", "{1}"),
        *("[2]", "`"),
    ],
)
def test_any_other_text_stays(con: duckdb.DuckDBPyConnection, cell: str) -> None:
    assert read(con, "text_cell(trim(cell))", [cell]) == [cell]


@pytest.mark.parametrize("yes", ["true", "True", " yes", "Y", "1"])
def test_yes_however_it_is_written(con: duckdb.DuckDBPyConnection, yes: str) -> None:
    assert read(con, "yes_no(cell)", [yes]) == [True]


@pytest.mark.parametrize("no", ["false", "FALSE ", "no", " n", "0"])
def test_no_however_it_is_written(con: duckdb.DuckDBPyConnection, no: str) -> None:
    assert read(con, "yes_no(cell)", [no]) == [False]


def test_neither_yes_nor_no(con: duckdb.DuckDBPyConnection) -> None:
    assert read(con, "yes_no(cell)", ["", "t", "2", "nope"]) == [None] * 4


def test_a_choice_however_it_is_written(con: duckdb.DuckDBPyConnection) -> None:
    cells = ["wall", "Wall ", " FLOOR", "walls", ""]
    found = read(con, "choice(cell, ['floor', 'wall'])", cells)
    assert found == ["wall", "wall", "floor", None, None]
