"""Whole numbers of an address or a file: bounded however they are written."""

import pytest

from dashboard.whole_number import whole_number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1", 1),
        ("1000", 1000),
        ("0007", 7),
        ("1001", None),
        ("000000001999999", None),
        ("0", None),
        ("", None),
        ("-1", None),
        ("1.0", None),
        ("\u0662", None),
        # More digits than Python turns into a number.
        ("9" * 5000, None),
        ("0" * 5000 + "9", 9),
    ],
)
def test_a_number_from_one_to_a_thousand(text: str, number: int | None) -> None:
    assert whole_number(text, 1000) == number
