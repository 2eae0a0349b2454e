"""The entries of the retraining list: their picture, and what each leads to.

Expected from the same page's table, and by hand from the rows.
"""

import csv
import io
from datetime import date, timedelta

import pytest
from dash import html

from dashboard.app import create_app
from dashboard.later import render_part
from dashboard.pages import LATER
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import graphs, hrefs, rows, table, walk

MONDAY = date(2026, 1, 19)
BITS, TORQUES = 30, 24


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Crew A has 30 of 40 bits undersize, B 24 of 40 torques too high; others 1."""
    built: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(days=number % 5),
            "bit_diameter_mm": "12" if number < bits else "12.3",
            "setting_torque_nm": "75" if number < torques else "55",
        }
        for crew, bits, torques in (
            ("A", BITS, 1),
            ("B", 1, TORQUES),
            *((other, 1, 1) for other in "CDEF"),
        )
        for number in range(40)
    ]
    # Not judged, so that what is due is more than what was.
    blank = {"crew_code": "B", "installed_on": MONDAY, "setting_torque_nm": ""}
    return build_store(tmp_path_factory.mktemp("entries"), [*built, *[blank] * 5])


def test_the_picture_says_what_the_table_says(store: Store) -> None:
    made = render_part(store, LATER, "retraining", "")
    [picture] = graphs(made)
    intervals, points = picture.figure.data
    found = rows(table(made, "Whom to retrain on what, first"))[:2]
    assert [row[:2] for row in found] == [["A", "Drill bit"], ["B", "Setting torque"]]
    drawn = [
        [f"{value:.1f}" for value in (x, *intervals.x[3 * line : 3 * line + 2])]
        for line, x in enumerate(points.x)
    ]
    assert drawn == [row[7].replace("–", " ").split() for row in found]
    assert points.y == intervals.y[::3] == (0, 1)
    ticks = picture.figure.layout.yaxis.ticktext
    assert ticks[1].startswith("B setting torque<br>")
    assert f"<b>{found[1][7].split()[0]}</b> of {found[1][6]}" in ticks[1]
    assert "24/40 nonconforming" in points.hovertext[1]


def test_an_entry_leads_to_its_anchors_and_to_the_crews_sheet(store: Store) -> None:
    made = render_part(store, LATER, "retraining", "?sizes=M12")
    [listed] = [part for part in walk(made) if isinstance(part, html.Ol)]
    anchors, sheet, of_b, _ = hrefs(listed)
    # The evidence is of the half year up to the last day.
    assert anchors == (
        "/records?from=2025-07-26&to=2026-01-23&crews=A&sizes=M12&check=drill_bit"
    )
    assert sheet == "/pdf/crew?crews=A&sizes=M12"
    [picture] = graphs(made)
    assert list(picture.figure.data[1].customdata) == [anchors, of_b]
    client = create_app(store).server.test_client()
    for href, count in ((anchors, BITS), (of_b, TORQUES)):
        answer = client.get(f"/csv{href}").get_data(as_text=True)
        assert len(list(csv.DictReader(io.StringIO(answer.lstrip("\ufeff"))))) == count


def test_one_entry_needs_no_picture(store: Store) -> None:
    made = render_part(store, LATER, "retraining", "?crews=A")
    [listed] = [part for part in walk(made) if isinstance(part, html.Ol)]
    assert len(listed.children) == 1
    assert not graphs(made)
