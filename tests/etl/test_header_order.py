"""Column names that come again in another order: expected by hand, row by row."""

from pathlib import Path

import duckdb
import pytest

from tests.etl.taking import HEADER, line, take

Ledger = duckdb.DuckDBPyConnection


@pytest.mark.parametrize(
    ("again", "words"),
    [
        ("Nr,Day,Crew,Code,Note,Depth", "('Note' where that has 'Depth')"),
        ("Nr,DAY,Crew, Note ,Code,Depth", "('Note' where that has 'Code')"),
        # A column more, in the middle: those behind it are not in their place.
        ("Nr,Day,Crew,Shift,Code,Depth,Note", "('Code' where that has 'Depth')"),
        # Written otherwise: with units, points, colons.
        ("Nr.,Day,Crew,Code,Note,Depth (mm)", "('Note' where that has 'Depth')"),
        ("Nr:,Day:,Crew:,Code:,Note:,Depth [mm]:", "('Note:' where that has 'Depth')"),
        # A table with fewer columns.
        ("Nr,Day,Depth", "('Depth' where that has 'Crew')"),
    ],
)
@pytest.mark.parametrize("odd", ["", "\0"])
def test_rows_under_another_order_are_not_read_by_the_first(
    ledger: Ledger, tmp_path: Path, again: str, words: str, odd: str
) -> None:
    rows = [HEADER, line(1), line(2), again, line(3), odd]
    taken = take(ledger, tmp_path / "log.csv", "\n".join(rows))
    assert "row 4: names the columns in another order than row 1" in taken.failure
    assert words in taken.failure
    assert taken.held == []


@pytest.mark.parametrize(
    "row",
    [
        HEADER,
        # In their order, one left out or named otherwise: they mean the same.
        "Nr,Day,Crew,Code,,Note",
        "No,Day,Crew,Code,Depth,Note",
        # Two of three, as at the foot of a form; and words of too few columns.
        "Crew,Day,Signed,,,",
        "Crew,Day,,,,",
        # Two of five.
        "7,,Code,M12-68,92,Crew",
    ],
)
def test_other_rows_with_names_in_them_are_no_such_order(
    ledger: Ledger, tmp_path: Path, row: str
) -> None:
    rows = [HEADER, line(1), row, line(2)]
    taken = take(ledger, tmp_path / "log.csv", "\n".join(rows))
    assert [(row, number) for row, number, _ in taken.held] == [(2, "1"), (4, "2")]
    assert len(taken.rejects) == 1


def test_figures_that_are_names_of_columns_are_no_such_order(
    ledger: Ledger, tmp_path: Path
) -> None:
    """Anchors of a plate may have columns named by their numbers."""
    header = f"{HEADER},1,2,3,4,5,6,7,8"
    rows = [header, line(1) + "8,7,6,5,4,3,2,1", ",,K1,,,,8,7,6,5,4,3,2,1"]
    taken = take(ledger, tmp_path / "log.csv", "\n".join(rows))
    assert [row for row, *_ in taken.rejects] == [3], taken.failure


def test_a_day_said_once_hides_no_other_order(ledger: Ledger, tmp_path: Path) -> None:
    rows = ["Day: 2026-05-04,,,,", "Nr,Crew,Code,Depth,Note", "1,K1,M12-68,92,x"]
    rows += ["Nr,Crew,Code,Note,Depth", "2,K1,M12-68,x,92"]
    files = 'titles = ["Day"]\nheader_row = 2'
    taken = take(ledger, tmp_path / "log.csv", "\n".join(rows), files=files)
    assert "row 4: names the columns in another order than row 2" in taken.failure
