"""Numbers as sites write them: grouped, as fractions, with a unit of their own.

Expected values are arithmetic with fractions.Fraction and the definitions of the units
(NIST SP 811 B.8: inch, foot, pound-force, kilogram-force; from memory).
"""

import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.etl.cell_files import Loaded, load_cells
from tests.examples import examples

INCH = Fraction(254, 10)
POUND = Fraction("4.4482216152605")
# what a writer may put behind a number: (our column, exact factor)
SPELLINGS: dict[str, tuple[str, Fraction]] = {
    "mm": ("hole_depth_mm", Fraction(1)),
    "cm": ("hole_depth_mm", Fraction(10)),
    "m": ("hole_depth_mm", Fraction(1000)),
    "in": ("hole_depth_mm", INCH),
    "inch": ("hole_depth_mm", INCH),
    '"': ("hole_depth_mm", INCH),
    "ft": ("hole_depth_mm", 12 * INCH),
    "Nm": ("setting_torque_nm", Fraction(1)),
    "N·m": ("setting_torque_nm", Fraction(1)),
    "ft-lb": ("setting_torque_nm", INCH * 12 / 1000 * POUND),
    "ft.lbs": ("setting_torque_nm", INCH * 12 / 1000 * POUND),
    "lbf·ft": ("setting_torque_nm", INCH * 12 / 1000 * POUND),
    "in-lb": ("setting_torque_nm", INCH / 1000 * POUND),
    "kgf·m": ("setting_torque_nm", Fraction("9.80665")),
    "mkg": ("setting_torque_nm", Fraction("9.80665")),
    "daN·m": ("setting_torque_nm", Fraction(10)),
    "daNm": ("setting_torque_nm", Fraction(10)),
    "s": ("drill_s", Fraction(1)),
    "min": ("drill_s", Fraction(60)),
    "ms": ("drill_s", Fraction(1, 1000)),
    "MPa": ("concrete_mpa", Fraction(1)),
    "N/mm²": ("concrete_mpa", Fraction(1)),
    "bar": ("concrete_mpa", Fraction(1, 10)),
    "psi": ("concrete_mpa", POUND / INCH**2),
    "ksi": ("concrete_mpa", 1000 * POUND / INCH**2),
}
# The units of the site maps that are tried; their spelling above gives the factor.
MAP_UNITS = {
    "hole_depth_mm": ("mm", "cm", "in", "ft", "m"),
    "setting_torque_nm": ("Nm", "N·m", "lbf·ft", "in-lb", "kgf·m", "daN·m"),
    "drill_s": ("s", "min", "ms"),
    "concrete_mpa": ("MPa", "psi", "bar", "ksi"),
}
IN_MAP = {"N·m": "Nm", "lbf·ft": "ft·lbf", "in-lb": "in·lbf"}
BLANKS = ("", " ", "\u00a0", "\u2009")


def is_near(value: object, exact: Fraction) -> bool:
    """Say whether a double is within one unit in the last place of the exact value."""
    return isinstance(value, float) and abs(Fraction(value) - exact) <= Fraction(
        math.ulp(float(exact))
    )


@st.composite
def decimals(draw: Callable[..., Any], decimal: str) -> tuple[str, Fraction]:
    """Write a decimal number: grouped or not, signed or not, with an exponent."""
    places = draw(st.integers(0, 6))
    digits = draw(st.integers(0, 10 ** draw(st.integers(1, 11))))
    number = Fraction(digits, 10**places)
    whole, part = divmod(digits, 10**places)
    other = "," if decimal == "." else "."
    separator = draw(st.sampled_from(["", "", other, "'", "’", "\u00a0", "\u202f"]))
    text = f"{whole:,}".replace(",", separator)
    if places:
        text += f"{decimal}{part:0{places}d}"
    power = draw(st.sampled_from([None, None, None, -2, 0, 2]))
    if power is not None and not separator:
        text += f"E{power:+03d}"
        number *= Fraction(10) ** power
    return draw(st.sampled_from(["", "", "+"])) + text, number


@st.composite
def fractions(draw: Callable[..., Any]) -> tuple[str, Fraction]:
    """Write a number of inches or feet as carpenters do."""
    under = draw(st.sampled_from([2, 4, 8, 16, 32, 64]))
    over = draw(st.integers(1, under - 1))
    whole = draw(st.integers(0, 99))
    sign = {(1, 2): "½", (1, 4): "¼", (3, 4): "¾", (3, 8): "⅜", (7, 8): "⅞"}
    number = whole + Fraction(over, under)
    if (over, under) in sign and draw(st.booleans()):
        joint = draw(st.sampled_from(["", " ", "\u00a0"]))
        return f"{whole or ''}{joint if whole else ''}{sign[over, under]}", number
    joint = draw(st.sampled_from([" ", "-", " - ", "\u00a0"]))
    return (f"{whole}{joint}" if whole else "") + f"{over}/{under}", number


@st.composite
def cells(draw: Callable[..., Any], decimal: str, units: dict[str, str]) -> Any:
    """Write one cell: (column, text, exact value in our unit, or None: unreadable)."""
    column = draw(st.sampled_from(list(MAP_UNITS)))
    mine = [unit for unit, (owner, _) in SPELLINGS.items() if owner == column]
    own = draw(st.sampled_from([None, *mine]))
    unit = own or units[column]
    if unit in ("in", "inch", '"', "ft") and draw(st.booleans()):
        text, number = draw(fractions())
    else:
        text, number = draw(decimals(decimal))
    if own:
        text += draw(st.sampled_from(BLANKS)) + own
    exact: Fraction | None = number * SPELLINGS[unit][1]
    fault = draw(st.sampled_from([None] * 6 + list(FAULTS)))
    if fault:
        text, exact = FAULTS[fault](text, column), None
    edge = st.sampled_from(BLANKS)
    return column, draw(edge) + text + draw(edge), exact


FOREIGN = {
    "hole_depth_mm": "Nm",
    "setting_torque_nm": "mm",
    "drill_s": "psi",
    "concrete_mpa": "s",
}
FAULTS: dict[str, Callable[[str, str], str]] = {
    "about": lambda text, column: f"~{text}",
    "more": lambda text, column: f">{text}",
    "doubt": lambda text, column: f"{text}?",
    "negative": lambda text, column: "-" + text.lstrip("+"),
    "full width": lambda text, column: "５" + text.lstrip("+"),
    "error": lambda text, column: "#REF!",
    "foreign": lambda text, column: f"12 {FOREIGN[column]}",
    "unknown": lambda text, column: "12 cubits",
}


@st.composite
def files(draw: Callable[..., Any]) -> Any:
    """Write a file: its decimal sign, the units of its map, and its cells."""
    decimal = draw(st.sampled_from([".", ","]))
    units = {name: draw(st.sampled_from(units)) for name, units in MAP_UNITS.items()}
    batch = draw(st.lists(cells(decimal, units), min_size=60, max_size=60))
    return decimal, units, batch


@given(file=files())
@settings(
    **examples(6),
    phases=(Phase.generate,),
    suppress_health_check=list(HealthCheck),
)
def test_any_written_number_is_read_exactly(
    tmp_path_factory: pytest.TempPathFactory, file: Any
) -> None:
    decimal, units, batch = file
    loaded = load_cells(
        tmp_path_factory.mktemp("numbers"),
        [{column: text} for column, text, _ in batch],
        columns={name: IN_MAP.get(unit, unit) for name, unit in units.items()},
        decimal=decimal,
    )
    for row, (column, text, exact) in enumerate(batch):
        found = loaded.rows[row][column]
        if exact is None:
            assert found is None, (text, units[column], found)
            assert loaded.faults[row, column][0] == text
        else:
            assert is_near(found, exact), (text, units[column], found, float(exact))
            assert (row, column) not in loaded.faults


# The plain path by itself, where it multiplies: every tenth and a few long decimals.
@pytest.mark.parametrize("unit", ["cm", "in", "ft", "m"])
def test_plain_decimals_in_another_unit(tmp_path: Path, unit: str) -> None:
    texts = [f"{tenths / 10:.1f}" for tenths in range(0, 3000, 7)]
    texts += ["9.2000000000000001", "26843.5", "26842.9999", "0.0001", "0.00001"]
    rows = [{"hole_depth_mm": text} for text in texts]
    loaded = load_cells(tmp_path, rows, columns={"hole_depth_mm": unit})
    for row, text in enumerate(texts):
        exact = Fraction(text) * SPELLINGS[unit][1]
        assert is_near(loaded.rows[row]["hole_depth_mm"], exact), text


def one(folder: Path, cell: str, column: str, unit: str, decimal: str = ".") -> Loaded:
    return load_cells(folder, [{column: cell}], columns={column: unit}, decimal=decimal)


# Expected: by hand, from the definitions of the units and of a minute.
READ = [
    ("45 Nm", "setting_torque_nm", "ft·lbf", ".", 45.0),
    ("92mm", "hole_depth_mm", "in", ".", 92.0),
    ("9,2 cm", "hole_depth_mm", "mm", ",", 92.0),
    ("3 1/2 in", "hole_depth_mm", "mm", ".", 88.9),
    ('1 1/4"', "hole_depth_mm", "mm", ".", 31.75),
    ("½ in", "hole_depth_mm", "mm", ".", 12.7),
    ("12.5 s", "drill_s", "min", ".", 12.5),
    ("2 min", "drill_s", "s", ".", 120.0),
    ("1:30", "drill_s", "s", ".", 90.0),
    ("00:01:30", "drill_s", "min", ".", 90.0),
    ("1'234.5", "hole_depth_mm", "mm", ".", 1234.5),
    ("1 234,5", "hole_depth_mm", "mm", ",", 1234.5),
    ("1.1E+02", "hole_depth_mm", "mm", ".", 110.0),
    ("300 bar", "concrete_mpa", "psi", ".", 30.0),
]


def test_read_by_hand(tmp_path: Path) -> None:
    found = [
        one(tmp_path / str(row), cell, column, unit, decimal).rows[0][column]
        for row, (cell, column, unit, decimal, _) in enumerate(READ)
    ]
    assert found == [value for *_, value in READ]


# A fault says what was found, where that is known, and what was expected.
FAULTY = [
    ("45 mm", "setting_torque_nm", "found mm, a length; expected a number of Nm, 0"),
    ("12 cubits", "hole_depth_mm", "found 'cubits', which is no known unit; expected"),
    ("90/92", "hole_depth_mm", "found a fraction, or two values; expected a number"),
    # An inch is halved and halved again, never parted into nine.
    ("6/9 in", "hole_depth_mm", "found a fraction, or two values; expected a number"),
    ("92,5", "hole_depth_mm", "found a decimal comma; expected a number of mm"),
    ("9 1/0 in", "hole_depth_mm", "found 1/0, which is no proper fraction"),
    ("1:30", "hole_depth_mm", "found a time of day or a ratio; expected"),
    ("01:30:00", "drill_s", "expected a number of s"),
    ("2xy", "brush_count", "found 'xy' after the number; expected a whole number"),
    ("~90", "hole_depth_mm", "expected a number of mm"),
    ("#N/A", "hole_depth_mm", "expected a number of mm"),
    ("#VALEUR!", "brush_count", "expected a whole number"),
    ("#NV", "work_area", "expected a text, not a spreadsheet's word for an error"),
    ("1\n234", "hole_depth_mm", "expected a number of mm"),
    ("9" * 400, "hole_depth_mm", "expected a number of mm"),
    ("1e999999999 mm", "hole_depth_mm", "found 'e999999999 mm', which is no known"),
    ("1e999 mm", "hole_depth_mm", "expected a number of mm"),
]


def test_faults_say_what_was_found_and_expected(tmp_path: Path) -> None:
    columns = dict.fromkeys(column for _, column, _ in FAULTY)
    loaded = load_cells(
        tmp_path, [{column: cell} for cell, column, _ in FAULTY], columns=columns
    )
    for row, (cell, column, words) in enumerate(FAULTY):
        raw, reason = loaded.faults[row, column]
        assert raw == cell
        assert reason.startswith(words)
        assert loaded.rows[row][column] is None


def test_a_blank_of_any_kind_is_no_fault(tmp_path: Path) -> None:
    cells = ["", " ", "\u00a0", "\u2009 ", "-", "n/a", "–", "— ", "____", "n/r", "n.a."]
    loaded = load_cells(
        tmp_path,
        [{"hole_depth_mm": cell} for cell in cells],
        columns={"hole_depth_mm": "mm"},
    )
    assert loaded.faults == {}
    assert {row["hole_depth_mm"] for row in loaded.rows.values()} == {None}


# Brushed twice, however it is written (common practice, no source).
def test_a_count_may_say_times(tmp_path: Path) -> None:
    cells = ["2", "2x", "2 x", "x2", "×2", "2 mal", "2 times", "2X"]
    loaded = load_cells(
        tmp_path,
        [{"brush_count": cell} for cell in cells],
        columns={"brush_count": None},
    )
    assert loaded.faults == {}
    assert [loaded.rows[row]["brush_count"] for row in range(len(cells))] == [2] * 8


def test_an_error_word_is_no_crew(tmp_path: Path) -> None:
    loaded = load_cells(
        tmp_path, [{"crew": "#REF!"}, {"crew": "#12"}], columns={"note": None}
    )
    assert loaded.rejected == {
        0: ("no_crew_code", "crew: '#REF!', expected a crew's code")
    }
