"""Cells of sheets: what is read, and what is no value of the kind."""

from datetime import UTC, date, datetime

import pytest

from etl.sheets.kinds import (
    ANGLE,
    CODES,
    COUNT,
    DATE,
    DIAMETER_MM,
    INSTANT,
    LENGTH_MM,
    SIZE,
    STRENGTH_MPA,
    TORQUE_FROM_NM,
    TORQUE_NM,
    YES_NO,
    Kind,
    UnclearError,
    Value,
    canonical_code,
    choice,
    dates,
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
        (LENGTH_MM, "12.50", 12.5),
        (LENGTH_MM, "12.500", 12.5),
        (LENGTH_MM, "12.500 mm", 12.5),
        (LENGTH_MM, "1e2", 100.0),
        (LENGTH_MM, "12,5", 12.5),
        (LENGTH_MM, "0,12345", 0.12345),
        (LENGTH_MM, "1.250,5", 1250.5),
        (LENGTH_MM, "1,250.5", 1250.5),
        (LENGTH_MM, "1 250 mm", 1250.0),
        (LENGTH_MM, '2 3/8"', 60.325),
        (LENGTH_MM, "½ in", 12.7),
        (LENGTH_MM, "7 cm", 70.0),
        (TORQUE_NM, "55 Nm", 55.0),
        (TORQUE_NM, "5,5 daNm", 55.0),
        (TORQUE_FROM_NM, "0", 0.0),
        (TORQUE_FROM_NM, "0 Nm", 0.0),
        (STRENGTH_MPA, "25 N/mm²", 25.0),
        (ANGLE, "5°", 5.0),
        (ANGLE, "2,5", 2.5),
        (COUNT, "007", 7),
        (COUNT, "5,000", 5_000),
        (COUNT, "1.234.567", 1_234_567),
        (COUNT, "12\u202f000", 12_000),
        (YES_NO, "TRUE", True),
        (YES_NO, "Yes", True),
        (YES_NO, "1", True),
        (YES_NO, "no", False),
        (YES_NO, "N", False),
        # As spreadsheets write true and false in German and French, from memory.
        (YES_NO, "WAHR", True),
        (YES_NO, "FAUX", False),
        (YES_NO, "não", False),
        (DATE, "2028-02-29", date(2028, 2, 29)),
        (DATE, "31.03.2026", date(2026, 3, 31)),
        (DATE, "31 March 2026", date(2026, 3, 31)),
        (DATE, "1951-03-31", date(1951, 3, 31)),
        (dates("day"), "04/03/2026", date(2026, 3, 4)),
        (dates("month"), "04/03/2026", date(2026, 4, 3)),
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
        (LENGTH_MM, "0"),
        (LENGTH_MM, "0 mm"),
        (LENGTH_MM, "0,0"),
        (LENGTH_MM, "inf"),
        (LENGTH_MM, "1_000"),
        (LENGTH_MM, "1e999"),
        (LENGTH_MM, "9" * 400),
        (LENGTH_MM, "-12,5"),
        (TORQUE_FROM_NM, "-1"),
        (ANGLE, "0"),
        (ANGLE, "90,5"),
        (COUNT, "2.0"),
        (COUNT, "5,00"),
        (COUNT, "1,234.567"),
        (COUNT, "1,234,567,890"),
        (COUNT, "9999999999"),
        (YES_NO, "2"),
        (YES_NO, "o"),
        (YES_NO, "true or false"),
        (DATE, "2026-02-30"),
        (DATE, "20260331"),
        (DATE, "46112"),
        (DATE, "1774915200"),
        (DATE, "31.03.2026 14:00"),
        (DATE, "30.02.2026"),
        (DATE, "04.03.2026"),
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


@pytest.mark.parametrize(
    ("kind", "cell", "found"),
    [
        (LENGTH_MM, "1,250", "it has two readings, 1.25 and 1250"),
        (LENGTH_MM, "3/8", "found a fraction, or two values"),
        (LENGTH_MM, "5 furlongs", "found 'furlongs', which is no known unit"),
        (TORQUE_NM, "60 mm", "found mm, a length"),
        (DATE, "04/03/2026", "it has two readings, 2026-03-04 and 2026-04-03"),
        (DATE, "30.02.2026", "no such date"),
    ],
)
def test_it_says_what_it_found(kind: Kind, cell: str, found: str) -> None:
    with pytest.raises(UnclearError) as caught:
        kind.read(cell)
    assert str(caught.value) == found
