"""Which size Drilling is asked of: the address's, the filters', the most drilled."""

import duckdb
import pytest

from dashboard.address import parse_view
from dashboard.downloads import QUESTIONS
from dashboard.drilling_asked import drilling_data, offered_of, read_question
from queries.readers.choices import Choices


# Timed in the store (conftest.py): 32 holes of M12, 10 of M6.
@pytest.mark.parametrize(
    ("search", "size"),
    [
        ("", "M12"),
        ("?sizes=M6", "M6"),
        ("?sizes=M6,M12", "M12"),
        ("?sizes=M6&size=M12", "M12"),
    ],
)
def test_the_one_size_of_the_filters_is_asked_of(
    con: duckdb.DuckDBPyConnection, choices: Choices, search: str, size: str
) -> None:
    view = parse_view(search, choices)
    asked = read_question(view, drilling_data(con), offered_of(con))
    assert asked.anchor_size == size


def test_the_file_of_depths_has_what_the_table_has(
    con: duckdb.DuckDBPyConnection, choices: Choices
) -> None:
    """Every attempt reaches the first step, at 40 mm, where two were abandoned."""
    found = QUESTIONS["drilling-depths"](con, parse_view("?sizes=M12", choices))
    first = found.row(0, named=True)
    assert (first["depth_from_mm"], first["abandoned"]) == (40, 2)
    assert first["reached"] == found["attempts"].sum()
    assert first["lost_share"] == pytest.approx(2 / first["reached"])
