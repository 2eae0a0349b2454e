"""`any_check` in the terminal: anchors, not verdicts, and the figures of the pages."""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from dashboard.address import parse_view
from dashboard.command import main
from dashboard.pages import LATER
from queries.readers.choices import read_choices
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import rows, table

BOTH = {"setting_torque_nm": "20", "brush_count": "0"}
LOOSE = {"setting_torque_nm": "20"}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Two weeks of 20 anchors a site: A has 3 of both faults and 2 of one, B one."""
    faults: dict[str, list[Row]] = {"A": [BOTH] * 3 + [LOOSE] * 2, "B": [LOOSE]}
    return build_store(
        tmp_path,
        sites={
            site: [
                {"installed_on": date(2026, 5, 4) + timedelta(weeks=week, days=at % 5)}
                | dict(faulty[at] if at < len(faulty) else {})
                for week in range(2)
                for at in range(20)
            ]
            for site, faulty in faults.items()
        },
    )


def found(store: Store, capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    options = ("--check", "any_check", "--format", "json", "--store", str(store.folder))
    assert main([*words, *options]) == 0
    return json.loads(capsys.readouterr().out)


def test_compare_counts_an_anchor_of_two_faults_once_as_the_page_does(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    groups = {row["group"]: row for row in found(store, capsys, "compare")}
    assert (groups["A"]["judged"], groups["A"]["nonconforming"]) == (40, 10)
    assert (groups["B"]["judged"], groups["B"]["nonconforming"]) == (40, 2)
    # One cell: A at B's 2 of 40.
    assert groups["A"]["expected"] == pytest.approx(2.0)
    assert groups["A"]["ratio"] == pytest.approx(5.0)
    with store.reader() as con:
        choices = read_choices(con)
        page = LATER["site mix"](con, parse_view("?check=any_check", choices), choices)
    shown = rows(table(page, "Any check, each site for its own mix"))
    assert shown[0][1] == "10"
    assert shown[0][3].startswith("5.00 (")


def test_trend_counts_an_anchor_of_two_faults_once(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    points = found(store, capsys, "trend")["points"]
    assert [(each["judged"], each["nonconforming"]) for each in points] == [
        (40, 6),
        (40, 6),
    ]
