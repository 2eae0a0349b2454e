"""Cells of sheets: what is read, and what is no value of the kind."""

from datetime import UTC, date, datetime

import pytest

from etl.sheets.kinds import (
    CODES,
    COUNT,
    DATE,
    DIAMETER_MM,
    INSTANT,
    NOT_NEGATIVE,
    POSITIVE,
    SIZE,
    YES_NO,
    Kind,
    Value,
    canonical_code,
    choice,
    size_mm,
)


def test_codes_are_trimmed_and_in_capitals() -> None:
    # As the logs' codes are: .readme/logs.md, "crew_code".
    assert canonical_code("  c-03 ") == "C-03"
    assert CODES.read("cracked; uncracked;") == ["CRACKED", "UNCRACKED"]


# The inch is exactly 25.4 mm (NIST SP 811, appendix B.8).
@pytest.mark.parametrize(
    ("size", "diameter_mm"),
    [
        ("M6", 6.0),
        ("M12", 12.0),
        ("1/2", 12.7),
        ('3/8"', 9.525),
        ("1 1/4", 31.75),
        ('1"', 25.4),
    ],
)
def test_size_diameter(size: str, diameter_mm: float) -> None:
    assert size_mm(size) == diameter_mm


@pytest.mark.parametrize("size", ["1/0", "0/2", "M0", "large", "12", "M", "1/2/3"])
def test_what_is_no_size(size: str) -> None:
    with pytest.raises(ValueError):
        size_mm(size)


@pytest.mark.parametrize(
    ("kind", "cell", "value"),
    [
        (POSITIVE, "12.50", 12.5),
        (POSITIVE, "1e2", 100.0),
        (NOT_NEGATIVE, "0", 0.0),
        (COUNT, "007", 7),
        (YES_NO, "TRUE", True),
        (YES_NO, "Yes", True),
        (YES_NO, "1", True),
        (YES_NO, "no", False),
        (YES_NO, "N", False),
        (DATE, "2028-02-29", date(2028, 2, 29)),
        (INSTANT, "2026-03-31T14:30+02:00", datetime(2026, 3, 31, 12, 30, tzinfo=UTC)),
        (SIZE, " m12", "M12"),
        (SIZE, '1  1/4"', "1 1/4"),
        (DIAMETER_MM, "14", 14.0),
        (DIAMETER_MM, '5/8"', 15.875),
        (choice(("floor", "wall")), "Wall", "wall"),
    ],
)
def test_what_is_read(kind: Kind, cell: str, value: Value) -> None:
    assert kind.read(cell) == value


@pytest.mark.parametrize(
    ("kind", "cell"),
    [
        (POSITIVE, "0"),
        (POSITIVE, "inf"),
        (POSITIVE, "1_000"),
        (POSITIVE, "1e999"),
        (POSITIVE, "12,5"),
        (NOT_NEGATIVE, "-1"),
        (COUNT, "2.0"),
        (COUNT, "9999999999"),
        (YES_NO, "2"),
        (YES_NO, "true or false"),
        (DATE, "2026-02-30"),
        (DATE, "20260331"),
        (DATE, "31.03.2026"),
        (DATE, "0206-03-31"),
        (INSTANT, "2026-03-31T14:30"),
        (INSTANT, "0001-01-01T00:00+23:00"),
        (DIAMETER_MM, "0"),
        (DIAMETER_MM, "thick"),
        (choice(("floor", "wall")), "ceiling"),
    ],
)
def test_what_is_not_read(kind: Kind, cell: str) -> None:
    with pytest.raises(ValueError):
        kind.read(cell)
