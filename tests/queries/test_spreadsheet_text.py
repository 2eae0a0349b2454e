"""No text of a CSV is run, and the rule that sees to it can be undone."""

import csv
import io

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.spreadsheet import csv_text
from queries.spreadsheet_text import armed_again, disarmed

texts = st.text(st.sampled_from("=+-@'; \t\r\nab,\""), max_size=8)


@given(texts)
def test_disarming_is_undone_exactly(text: str) -> None:
    assert armed_again(disarmed(text)) == text


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@given(text=texts)
def test_no_cell_begins_with_a_formula_however_cells_are_parted(
    delimiter: str, text: str
) -> None:
    made = csv_text(pl.DataFrame({text: [text], "other": ["x"]}))
    for row in csv.reader(io.StringIO(made, newline=""), delimiter=delimiter):
        assert not any(cell.startswith(("=", "+", "@", "-")) for cell in row), made


@given(texts)
def test_columns_are_disarmed_as_texts_are(text: str) -> None:
    [[head, _], [cell, _]] = csv.reader(
        io.StringIO(csv_text(pl.DataFrame({text: [text], "other": ["x"]})), newline="")
    )
    assert head == cell == disarmed(text)
