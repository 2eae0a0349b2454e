"""Lengths and torques in the reader's units, never on the wrong side of a limit.

1 in = 25.4 mm and 1 ft·lbf = 1.355 818 Nm: NIST SP 811 (2008), appendix B.8.
"""

import random
import re

import duckdb
import pytest

from dashboard import words
from dashboard.address import parse_view
from dashboard.anchor_section import Section
from dashboard.command import main
from dashboard.drilling_asked import (
    drilling_data,
    offered_of,
    read_question,
    typed_embedments,
)
from dashboard.figures.cross_section import cross_section
from dashboard.pages import method, record
from dashboard.pages.quantities import shown_requirement, shown_value
from dashboard.units import in_reader_units
from dashboard.wish import INCH, METRIC, Wish, asked_wish, wishing
from queries.columns import LOGGED_COLUMNS
from queries.readers.choices import Choices
from queries.store import Store
from tests.dashboard.components import graphs, text, whole_page

Con = duckdb.DuckDBPyConnection
IN_INCHES = Wish(units=INCH)


def _plain(said: str) -> str:
    return said.replace("\xa0", " ").replace("\u202f", " ")


def test_factors_are_the_published_ones() -> None:
    with wishing(IN_INCHES):
        assert words.quantity(25.4, "mm") == "1\xa0in"
        assert words.quantity(68, "mm") == "2.677\xa0in"  # 68 / 25.4 = 2.67717
        assert words.quantity(135.5818, "Nm") == "100\xa0ft·lbf"
        assert words.number(304.8, unit="m") == "1000.0"
        assert words.quantity(12, "s") == "12\xa0s"
        assert words.quantity(float("inf"), "mm") == "clear"
    assert words.quantity(68, "mm") == "68\xa0mm"


@pytest.mark.parametrize("units", [METRIC, INCH])
@pytest.mark.parametrize("name", ["hole_depth_mm", "setting_torque_nm"])
def test_what_is_shown_compares_as_what_is_logged(units: str, name: str) -> None:
    column = next(one for one in LOGGED_COLUMNS if one.name == name)
    drawn = random.Random(1)
    with wishing(Wish(units=units)):
        for _ in range(500):
            limit = round(drawn.uniform(20, 200), 1)
            value = round(
                limit + drawn.choice([-1, 0, 1]) * 10 ** -drawn.uniform(0, 6), 6
            )
            logged = _first_number(shown_value(column, value, limit))
            asked = _first_number(shown_requirement(column, limit, value))
            assert (logged > asked) - (logged < asked) == (value > limit) - (
                value < limit
            ), (value, limit)


def _first_number(said: str) -> float:
    return float(re.findall(r"\d+\.?\d*", said)[0])


def test_a_margin_that_is_not_zero_is_not_shown_as_zero() -> None:
    assert words.signed(-0.004, "mm") == "−0.004\xa0mm"
    assert words.signed(0.0, "mm") == "+0\xa0mm"
    with wishing(IN_INCHES):
        assert words.signed(-0.004, "mm") == "−0.0002\xa0in"  # 0.00015748


# Sentences as the checks write them (queries/checks/).
@pytest.mark.parametrize(
    ("said", "unit", "shown"),
    [
        (
            "set to 20 Nm, 49.5 to 60.5 required",
            "Nm",
            # By 1.355818: 14.751, 36.509, 44.622.
            "set to 14.8 ft·lbf, 36.5 to 44.6 required",
        ),
        (
            "embedment 50.8 to under 63.5 mm (length mark B), 68 required",
            "mm",
            "embedment 2 to under 2.5 in (length mark B), 2.677 required",
        ),
        # 2.67717 and 2.67677: three decimals would show 2.677 twice.
        (
            "hole 67.99 mm deep, 68 required",
            "mm",
            "hole 2.6768 in deep, 2.6772 required",
        ),
        (
            (
                "wrench W1 calibrated 2026-01-31; range 20 to 100 Nm, set on "
                "2026-05-04 to 55 Nm"
            ),
            "days",
            (
                "wrench W1 calibrated 2026-01-31; range 14.8 to 73.8 ft·lbf, set on "
                "2026-05-04 to 40.6 ft·lbf"
            ),
        ),
        (
            "length mark 3, 110 specified",
            "mm",
            "length mark 3, 4.331 specified",
        ),
        ("2 brush strokes, 4 blows; 2 and 4 required", "strokes", None),
        ("concrete, 30 MPa; any material required", "MPa", None),
    ],
)
def test_the_words_of_the_checks(said: str, unit: str, shown: str | None) -> None:
    with wishing(IN_INCHES):
        assert in_reader_units(said, unit) == (shown or said)
    assert in_reader_units(said, unit) == said


def test_a_record_in_inches_has_no_millimetre_left(con: Con, choices: Choices) -> None:
    [[site, number]] = con.execute(
        "select site_code, record_id from installation "
        "where crew_code = 'C1' order by record_id limit 1"
    ).fetchall()
    view = parse_view(f"?site={site}&record={number}", choices)
    with wishing(IN_INCHES):
        page = record.render(con, view, choices)
    said = _plain(text(page)) + str(graphs(page)[0].figure)
    # 20 Nm of 49.5 to 60.5; h_ef 68 mm; the hole 92 mm deep, 90 asked.
    for found in ("14.75 ft·lbf", "36.5 to 44.6 required", "2.677", "3.622"):
        assert found in said
    assert not re.search(r"\d\s(mm|Nm)\b", said)


def test_the_drilling_page_in_inches(con: Con, choices: Choices) -> None:
    view = parse_view("?sites=SOUTH", choices)
    ours = whole_page(con, "/drilling", view, choices)
    with wishing(IN_INCHES):
        theirs = whole_page(con, "/drilling", view, choices)
    said = _plain(text(theirs))
    assert "Median depth, in" in said
    assert "Steps of 0.394 in" in said
    named = said.replace("25 mm/s", "").replace("in mm, or with its unit", "")
    assert not re.search(r"\bmm\b", named)

    ends = [graphs(page)[0].figure.layout.xaxis.range[1] for page in (ours, theirs)]
    assert ends[0] / ends[1] == pytest.approx(25.4)


def test_setting_data_in_inches(con: Con, choices: Choices) -> None:
    with wishing(IN_INCHES):
        said = _plain(text(method.render(con, parse_view("", choices), choices)))
    assert "Lengths in in, torques in ft·lbf" in said
    assert "40.6 ft·lbf ±10 %" in said  # 55 Nm


@pytest.mark.parametrize(
    ("given", "units", "mm", "typed"),
    [
        ("60,80", METRIC, (60, 80), "60, 80"),
        ("60,2.5in", INCH, (60, 63.5), "60mm, 2.5"),
        ("60,2.5in", METRIC, (60, 63.5), "60, 2.5in"),
    ],
)
def test_embedments_stay_what_was_typed_in_either_unit(
    con: Con,
    choices: Choices,
    given: str,
    units: str,
    mm: tuple[float, ...],
    typed: str,
) -> None:
    search = f"?embedment={given}&units={units}"
    with wishing(asked_wish(search)):
        view = parse_view(search, choices)
        question = read_question(view, drilling_data(con), offered_of(con))
        assert question.embedments_mm == mm
        assert typed_embedments(question.given["embedment"]) == typed


def test_unknown_units_are_said() -> None:
    wanted = asked_wish("?units=cubit")
    assert wanted.units == METRIC
    assert "“cubit”" in wanted.problems[0]


def test_the_drawing_is_the_same_in_either_unit() -> None:
    """The axes are out of sight and in mm; only the labels change."""
    section = Section(
        *(12, 92, 90, 67.996, 68, 79, 31, False, 20, 0, 120, 65),
        is_hole_short=False,
        is_embedment_short=True,
        is_edge_close=False,
    )
    ours = cross_section(section)
    with wishing(IN_INCHES):
        theirs = cross_section(section)
    assert ours.layout.shapes == theirs.layout.shapes
    labels = " ".join(label.text for label in theirs.layout.annotations)
    # 2.67701 and 2.67717: apart from the fourth decimal on.
    assert "2.677</b>" not in _plain(labels)
    assert "<b>2.677" in _plain(labels)


def test_the_terminal_shows_a_record_in_inches(
    store: Store, con: Con, capsys: pytest.CaptureFixture[str]
) -> None:
    [[number]] = con.execute(
        "select record_id from installation where crew_code = 'C1' limit 1"
    ).fetchall()
    asked = ["record", "NORTH", number, "--store", str(store.folder)]
    assert main([*asked, "--units", "inch"]) == 0
    said = capsys.readouterr().out
    # 20 Nm; a hole of 92 mm.
    assert re.search(r"setting_torque_ft·lbf +14.75\n", said)
    assert re.search(r"hole_depth_in +3.622\n", said)
    assert not re.search(r"\d (mm|Nm)\b", said)
    assert main([*asked, "--units", "inch", "--format", "csv"]) == 0
    assert "20 Nm" in capsys.readouterr().out
