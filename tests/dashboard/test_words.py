"""Numbers in words."""

from datetime import date

import pytest

from dashboard import words


@pytest.mark.parametrize(
    ("number", "shown"),
    [(0, "0"), (9999, "9999"), (12345, "12\u202f345"), (None, "–")],
)
def test_count(number: int | None, shown: str) -> None:
    assert words.count(number) == shown


@pytest.mark.parametrize(
    ("fraction", "shown"),
    [
        (None, "nothing to judge"),
        (0.0, "0.0\xa0%"),
        (0.05, "5.0\xa0%"),
        # A rate that is not nothing is not shown as nothing.
        (0.0003, "0.03\xa0%"),
        (0.00001, "0.001\xa0%"),
        (1.0, "100.0\xa0%"),
        # Nor one that is not all as all.
        (0.9999, "99.99\xa0%"),
    ],
)
def test_percent(fraction: float | None, shown: str) -> None:
    assert words.percent(fraction) == shown


@pytest.mark.parametrize(
    ("ratio", "shown"),
    [(1.0, "100\xa0%"), (0.996, "99\xa0%"), (0.7, "70\xa0%"), (0.698, "69\xa0%")],
)
def test_cone_percent(ratio: float, shown: str) -> None:
    assert words.cone_percent(ratio) == shown


@pytest.mark.parametrize(
    ("expected", "shown"),
    [
        (0.04, "0.0"),
        (12.34, "12.3"),
        (99.94, "99.9"),
        # Beside a count of as many, tenths would say more than is known.
        (99.96, "100"),
        (13757.04, "13\u202f757"),
        (None, "–"),
    ],
)
def test_about(expected: float | None, shown: str) -> None:
    assert words.about(expected) == shown


def test_quantity_and_margin() -> None:
    assert words.quantity(67.0, "mm") == "67\xa0mm"
    assert words.quantity(float("inf"), "mm") == "clear"
    assert words.quantity(None, "mm") == "–"
    assert words.signed(-3.0, "mm") == "−3\xa0mm"
    assert words.signed(0.0, "mm") == "+0\xa0mm"
    assert words.signed(float("inf"), "mm") == "no limit near"


def test_and_list() -> None:
    assert words.and_list([]) == ""
    assert words.and_list(["a"]) == "a"
    assert words.and_list(["a", "b", "c"]) == "a, b and c"
    assert words.and_list(list("abcdefgh")) == "a, b, c, d, e and 3 more"


def test_week_days_first_week_reaches_into_the_old_year() -> None:
    # ISO 8601: 2026-W01 begins on Monday 29 December 2025.
    assert words.week_days("2026-W01") == (date(2025, 12, 29), date(2026, 1, 4))
