"""Since when a crew is worse than it was itself, from its weeks to the words."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.command import main
from dashboard.later import render_part
from dashboard.pages import LATER
from dashboard.since import read_since
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store
from tests.dashboard.components import text

MONDAY = date(2025, 9, 1)
# Nonconforming of 20 in each of 30 weeks. D's lone bad weeks lie far apart.
WEEKS = {
    "A": [1] * 18 + [9] * 12,
    "B": [8] * 30,
    "C": [0] * 18 + [12] * 12,
    "D": [1, 2] * 7 + [12] + [1, 2] * 7 + [1],
    "E": [1, 2] * 15,
}


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder: Path = tmp_path_factory.mktemp("since")
    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(weeks=week, days=number % 5),
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for crew, weeks in WEEKS.items()
        for week, bad in enumerate(weeks)
        for number in range(20)
    ]
    return build_store(folder, rows)


# The 19th week begins on 5 January 2026. D's week of 12 of 20 is 8.9 sigmas beyond its
# 18 of 240, so that its moving average (weight 0.2, limit 0.987) is 1.78, then 1.34,
# 1.15 and 0.84: three weeks stand out.
@pytest.mark.parametrize(
    ("crew", "words"),
    [
        (
            "A",
            "Above its own earlier level since the week of 2026-01-05 (12 of the 12 ",
        ),
        ("B", "Week by week no rise shows over its own first weeks: it was so from "),
        (
            "C",
            "Above its own earlier level since the week of 2026-01-05 (12 of the 12 ",
        ),
        ("D", "Above its own earlier level now and then (3 of the 30 weeks with "),
        ("E", "Week by week no rise shows"),
    ],
)
def test_since_when(store: Store, crew: str, words: str) -> None:
    with store.reader() as con:
        [said] = read_since(con, [(crew, "setting_torque")], Selection())
    assert said.startswith(words)


# Dates choose the weeks that are shown: no other baseline, and nothing weighed anew.
def test_dates_move_neither_baseline_nor_trend(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    pairs = [("B", "setting_torque"), ("C", "setting_torque")]
    with store.reader() as con:
        read_since(con, pairs, Selection())
        monkeypatch.delattr("dashboard.kept.read_trends")
        late = Selection(from_on=date(2026, 2, 2))
        [of_b, of_c] = read_since(con, pairs, late)
    assert of_b.startswith("Week by week no rise shows")
    assert of_c.startswith(
        "Above its own earlier level since the week of 2026-02-02 (8 of the 8 weeks "
    )


def test_the_list_says_since_when(store: Store) -> None:
    listed = text(render_part(store, LATER, "retraining", ""))
    # A's 122 of 520 are not clear of the others in the list's own weeks.
    assert listed.count("Crew ") == 2
    assert listed.index("Crew B (") < listed.index("no rise shows over its own")
    assert listed.index("Crew C (") < listed.index("since the week of 2026-01-05")


def test_the_terminal_s_list_says_it_too(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["retrain", "--store", str(store.folder)]) == 0
    lines = capsys.readouterr().out.splitlines()
    [of_a, of_b, of_c] = [
        next(line for line in lines if f"Crew {crew} (" in line) for crew in "ABC"
    ]
    assert of_b.endswith("or rose by too little to be seen.")
    assert of_c.endswith("since the week of 2026-01-05 (12 of the 12 weeks with work).")
    assert of_a.endswith("look before you teach.")
