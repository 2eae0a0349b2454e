"""The parts of drafting: numbers, dates, layout, and the assignment of headers."""

from pathlib import Path

import duckdb
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from etl.draft.assign import assign
from etl.draft.dates import is_date, is_time, style_of
from etl.draft.layout import decimal_of, delimiter_of, encoding_of
from etl.draft.numbers import decimal_sign, header_readings, measured
from etl.draft.words import fold, tokens, words
from etl.units import FACTORS
from queries.columns import COLUMN_BY_NAME

SCORES = st.sampled_from([0.0, 0.0, 0.3, 0.5, 0.75, 1.0]) | st.floats(0, 1)


# The reference is scipy's solver of the same problem.
@given(
    st.integers(1, 6).flatmap(
        lambda width: st.lists(
            st.lists(SCORES, min_size=width, max_size=width), min_size=1, max_size=6
        )
    )
)
def test_the_assignment_has_the_highest_total(scores: list[list[float]]) -> None:
    found = assign(scores)
    taken = [column for column in found if column is not None]
    assert len(taken) == len(set(taken))
    total = sum(
        scores[row][column] for row, column in enumerate(found) if column is not None
    )
    table = np.array(scores)
    best = table[linear_sum_assignment(table, maximize=True)].sum()
    assert total == pytest.approx(best)


def test_nothing_to_assign() -> None:
    assert assign([]) == []
    assert assign([[], []]) == [None, None]


# 1.234,5 and 1,234.5 group their thousands; 1,234 may be either number.
@pytest.mark.parametrize(
    ("cell", "decimal", "number"),
    [
        ("1,5", ",", 1.5),
        ("1,5", ".", None),
        ("1.234,5", ",", 1234.5),
        ("1,234.5", ".", 1234.5),
        ("1,234", ",", 1.234),
        ("1,234", ".", 1234.0),
        ("3 1/2", ".", 3.5),
        ("13/16", ".", 0.8125),
        ("55Nm", ".", 55.0),
        ("12..5", ".", None),
        ("DZ-12", ".", None),
        ("12 or so", ".", None),
        ("06.07.2026", ",", None),
    ],
)
def test_numbers(cell: str, decimal: str, number: float | None) -> None:
    found = measured(cell, decimal)
    assert (found.number if found else None) == number


@pytest.mark.parametrize(
    ("cell", "sign"),
    [
        ("1,5", ","),
        ("1.5", "."),
        ("1.234,5", ","),
        ("1,234.5", "."),
        ("1,234", ""),
        ("0,250", ","),
        ("12345.678", "."),
        ("9,25 cm", ","),
        ("12", ""),
        ("a,b", ""),
        ("1,234,567", ""),
        ("06.07.2026", ""),
    ],
)
def test_the_sign_that_can_only_be_decimal(cell: str, sign: str) -> None:
    assert decimal_sign(cell) == sign


def test_a_decimal_sign_that_both_show_is_a_guess() -> None:
    assert decimal_of(["1,5", "2.5"]).sureness == "guess"
    assert decimal_of(["12", "13"]).value == "."


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("Tiefe [cm]", "cm"),
        ("Torque (ft-lb)", "ft·lbf"),
        ("Drehmoment (Nm)", "Nm"),
        ("(Nm)", "Nm"),  # Names no column, but is not lost.
        ("Länge in mm", "mm"),
        ("Length (in)", "in"),
        ("drillSeconds", "s"),
        ("drill_time_ms", "ms"),
        ("Festigkeit N/mm²", "MPa"),
        ("Couple (N.m)", "Nm"),
        ("Bohrung", None),
        ("Distanz", None),
        ("N°", None),  # The sign of a number, not of a degree.
        ("Forage n°", None),
        ("Inclinaison °", "deg"),
        ("Torque (kg·m)", "kgf·m"),
        ("Coppia (daNm)", "daN·m"),
    ],
)
def test_the_unit_in_a_header(header: str, unit: str | None) -> None:
    assert header_readings(header)[0].unit == unit


def test_a_short_unit_that_is_a_word_may_also_be_the_word() -> None:
    first, second = header_readings("Edge min")
    assert (first.unit, second.unit) == ("min", None)


@pytest.mark.parametrize(
    ("cells", "form", "day_first"),
    [
        (["2026-05-04", "2026-05-04 08:00:00"], None, None),
        (["13.05.2026", "04.05.2026"], "%d.%m.%Y", True),
        (["05/13/2026 7:30 AM"], "%m/%d/%Y %I:%M %p", False),
        (["13/05/26 14h30"], "%d/%m/%y %Hh%M", True),
        (["13-05-2026 14:30:10"], "%d-%m-%Y %H:%M:%S", True),
        (["2026/05/13"], "%Y/%m/%d", None),
        # The names of months that strptime does not have need no format.
        (["4-mag-26", "5 maggio 2026 7:30"], None, None),
        (["4. Mai 2026", "5. Juni 2026"], None, None),
        (["4-May-2026", "14-May-2026"], "%d-%b-%Y", None),
        (["4 June 2026"], "%d %B %Y", None),
        (["13.05.2026", "4.5.26"], None, True),
        # No format has the words beside; a weekday tells the order, 4 May 2026 being
        # a Monday and 5 April a Sunday.
        (["Mo 04.05.2026", "Di., 05.05.2026"], None, True),
        (["Mon 05/04/2026"], None, False),
        (["13.05.26 7.30 Uhr"], None, True),
        (["lundi 04/05/2026 à 7h30"], None, True),
        (["13/05/2026 7:30 a. m."], None, True),
        (["Mo 2026-05-04", "2026-05-05 7:30 Uhr"], None, None),
        (["2026/05/13 7:30 hrs"], None, None),
        (["Mo 4. Mai 2026"], None, None),
    ],
)
def test_how_dates_are_written(
    cells: list[str], form: str | None, day_first: bool | None
) -> None:
    style = style_of(cells)
    assert (style.date_format, style.day_first) == (form, day_first)
    assert style.question is None
    if form is not None:  # A load must be able to read what is written so.
        read = duckdb.execute(
            "select try_strptime(unnest($1::varchar[]), $2)", [cells, form]
        )
        assert all(instant is not None for (instant,) in read.fetchall())


@pytest.mark.parametrize(
    "cells", [["2026-05-04", "04.05.2026"], ["4.5.2026", "4 May 26"]]
)
def test_dates_of_several_kinds_are_a_question(cells: list[str]) -> None:
    assert style_of(cells).question


# Typed 04/05 to 15/05 where months come first: the first became 5 April, as a date.
def test_dates_that_a_spreadsheet_may_have_turned_round_are_asked_about() -> None:
    turned = ["2026-04-05", "2026-12-05", "13/05/2026", "15/05/2026"]
    assert "taken the day for the month" in (style_of(turned).question or "")
    for plain in ("2026-05-14", "12/05/2026"):
        question = style_of([*turned, plain]).question
        assert question is not None and "for the month" not in question


# Nothing tells the order: no weekday, a wrong one (5 May 2026 was a Tuesday), two that
# are right in neither order, and days over 12 in both places.
@pytest.mark.parametrize(
    "cells",
    [
        ["04.05.26 7:30 Uhr"],
        ["Mo 05.05.2026"],
        ["Mo 01.06.2026", "Mo 02.06.2026"],
        ["Mo 13.05.2026", "05.13.2026"],
    ],
)
def test_words_beside_dates_of_either_order_are_a_question(cells: list[str]) -> None:
    style = style_of(cells)
    assert style.question is not None
    assert style.choices == ("day_first = true", "day_first = false")


@pytest.mark.parametrize(
    "cell", ["Mo 4. Mai 2026", "So., 03.05.26 7.30 Uhr", "4 mai 2026 à 7h30"]
)
def test_a_date_may_have_words_beside_it(cell: str) -> None:
    assert is_date(cell)


@pytest.mark.parametrize("cell", ["13.13.2026", "1.5", "0/5/2026", "12", "M12-68", ""])
def test_what_is_no_date(cell: str) -> None:
    assert not is_date(cell)


def test_times_of_day() -> None:
    assert is_time("08:15") and is_time("8h15") and is_time("7:30 am")
    assert is_time("8.15 Uhr") and is_time("08.15 uur") and is_time("8.15 p. m.")
    assert is_time("0815 hrs") and is_time("0815h") and not is_time("0815")
    assert is_time("8:15a") and not is_time("8.15a") and not is_time("15a")
    assert not is_time("8.15") and not is_time("815") and not is_time("9,2")


# Byte 0x80 is the euro sign in windows-1252 and a control character in latin-1; 0x81 is
# unused in windows-1252, and a letter in a few others (the encodings' own tables).
@pytest.mark.parametrize(
    ("content", "encoding", "sureness"),
    [
        ("ü".encode("utf-8-sig"), "utf-8", "sure"),
        ("ü;a".encode("utf-16"), "utf-16", "sure"),
        ("ü".encode(), "utf-8", "sure"),
        (b"a;\xfc", "windows-1252", "likely"),
        (b"a;\x80", "windows-1252", "likely"),
        (b"a;Pr\x81fer", "ibm850", "likely"),
        ("a;b".encode("utf-16-le"), "utf-16", "guess"),
        (b"a" * (1 << 20) + "ü".encode(), "utf-8", "sure"),
        (b"a" * (1 << 20) + b"\xfc", "windows-1252", "likely"),
    ],
)
def test_encodings(
    tmp_path: Path, content: bytes, encoding: str, sureness: str
) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    found = encoding_of(path)
    assert (found.value, found.sureness) == (encoding, sureness)


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("a;b;c\n1,5;2,5;3,5\n", ";"),
        ("a,b,c\nx;y,2,3\n1,2,3\n", ","),
        ("a\tb\n1,5\t2\n", "\t"),
        ("a|b\n1|2\n", "|"),
        ('a,b\n"1;2;3","4;5"\n', ","),
    ],
)
def test_delimiters(tmp_path: Path, text: str, delimiter: str) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text, "utf-8")
    assert delimiter_of(path, "utf-8").value == delimiter


def test_words_are_folded() -> None:
    assert tokens("Lfd. Nr.") == ("lfd.", "number")
    assert fold("Prüfer") == fold("Pruefer") == fold("PRÜFER")
    assert tokens("N° d'ancrage") == tokens("Nº ancrage")
    assert tokens("holeDepth") == tokens("hole_depth") == ("hole", "depth")


def test_every_column_has_words_and_every_quantity_its_usual_figures() -> None:
    for name, column in COLUMN_BY_NAME.items():
        known = words().columns[name]
        assert known.names, name
        assert (known.usual is not None) >= (column.kind == "number"), name
    for column_name, codes in words().codes.items():
        if column_name in COLUMN_BY_NAME:
            assert set(codes.values()) == set(COLUMN_BY_NAME[column_name].choices)
    assert set(FACTORS) <= set(words().unit_by_sign.values())


def test_no_phrase_names_two_columns() -> None:
    owners: dict[frozenset[str], str] = {}
    for name, known in words().columns.items():
        for phrase in known.names:
            assert owners.setdefault(frozenset(phrase), name) == name, (phrase, name)


@pytest.mark.parametrize(
    "cell", ["12May26", "12mai2026", "May 4, 2026", "2026-05-04", "4.5.26", "2026/5/4"]
)
def test_dates_by_figures_and_names(cell: str) -> None:
    assert is_date(cell)
    assert not is_date(cell.replace("5", "x").replace("May", "x").replace("mai", "x"))


def test_dates_with_blanks_have_a_format() -> None:
    style = style_of(["4. 5. 2026", "14. 5. 2026"])
    assert (style.date_format, style.day_first) == ("%d. %m. %Y", True)
    assert is_date("2026. 05. 14.") and not is_date("4. 5 2026")
    # A word beside the time no format has.
    assert is_date("14.05.2026 kl. 07.45")
    assert style_of(["14.05.2026 kl. 07.45"]).date_format is None
    assert is_time("kl. 7.45 ") and is_time("godz. 7:45")
