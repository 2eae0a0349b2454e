"""Whom to retrain on what, from rows through the loader."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.retraining_words import entry_words, lead_words, list_words
from queries.readers.directions import read_directions
from queries.readers.retraining import RetrainingList, Unlike, read_retraining
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv

LAST = date(2026, 6, 26)
TORQUE = Selection(check_names=("setting_torque",))


def crew(
    code: str, judged: int, under: int, over: int = 0, weeks: int = 20
) -> list[Row]:
    """Return so many anchors of a crew a week, to the last day of the store."""
    return [
        {
            "crew_code": code,
            "installed_on": (LAST - timedelta(weeks=week, days=number % 5)).isoformat(),
            "setting_torque_nm": (
                "30" if number < under else "75" if number < under + over else "55"
            ),
        }
        for week in range(weeks)
        for number in range(judged)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Six crews: A has 6 under and 2 over of 20, B has not worked of late."""
    rows = crew("A", 20, 6, 2)
    rows += [
        row | {"installed_on": str(date.fromisoformat(str(row["installed_on"])) - gap)}
        for row in crew("B", 20, 8, weeks=4)
        for gap in [timedelta(weeks=10)]
    ]
    for number in range(4):
        rows += crew(f"C{number}", 20, 0, 1)
    # Retrained long ago: bad more than 26 weeks before the end, and good since.
    rows += [
        row
        | {
            "crew_code": "C0",
            "installed_on": str(
                date.fromisoformat(str(row["installed_on"])) - timedelta(weeks=27)
            ),
        }
        for row in crew("C0", 20, 20, weeks=5)
    ]
    return build_store(tmp_path_factory.mktemp("retraining"), rows)


def read(
    store: Store, budget: int = 5, selection: Selection = TORQUE
) -> RetrainingList:
    with store.reader() as con:
        return read_retraining(con, selection, budget)


def test_the_crew_with_most_to_spare_comes_first(store: Store) -> None:
    found = read(store)
    first = found.entries.row(0, named=True)
    assert (first["crew"], first["check"]) == ("A", "setting_torque")
    assert (first["nonconforming"], first["judged"]) == (160, 400)
    # Eight weeks of 20 anchors.
    assert first["planned"] == 160
    assert first["avoidable"] == pytest.approx(
        (first["eb_rate"] - first["reachable_rate"]) * 160
    )
    assert first["avoidable_low"] < first["avoidable"] < first["avoidable_high"]
    assert (first["direction"], first["direction_share"]) == ("under", 0.75)
    assert first["is_clear"]


def test_a_crew_without_work_ahead_is_not_listed(store: Store) -> None:
    # B is as bad as A, but has set nothing in the last eight weeks.
    assert "B" not in read(store).entries["crew"].to_list()


def test_one_of_one_does_not_take_the_place_of_a_clear_crew(tmp_path: Path) -> None:
    # Of D's holes ahead one was judged: whatever its rate, nearly all could be spared.
    silent: Row = {"setting_torque_nm": ""}
    unknown = [row | silent for row in crew("D", 80, 0)] + crew("D", 1, 1, weeks=1)
    rows = crew("A", 20, 8) + unknown
    for number in range(8):
        rows += crew(f"C{number}", 20, 3)
    listed = read(build_store(tmp_path, rows), budget=2).entries
    assert listed.select("crew", "is_clear").rows() == [("A", True), ("D", False)]
    assert listed["avoidable"][1] > listed["avoidable"][0]


# A mix of sizes is no fault and no excuse. By hand: the plain rate of X, 10 %, is
# below the others' of M12 and M16 together, (16 + 240) / (800 + 400); within M12 it is
# five times theirs. Y sets M16 only, where it does better than they: 45 % beside 60 %.
def test_a_crew_is_clear_by_its_like_work_not_by_its_plain_rate(tmp_path: Path) -> None:
    settings: list[Row] = [{}, {"setting_code": "M16-84", "anchor_size": "M16"}]
    hard: Row = {"setting_code": "M16-84"}
    rows = crew("X", 20, 2)
    rows += [row | hard for row in crew("Y", 20, 9)]
    for number in range(4):
        rows += crew(f"C{number}", 50, 1, weeks=4)
        rows += [row | hard for row in crew(f"C{number}", 25, 15, weeks=4)]
    numbered = [{"record_id": f"R{n}"} | row for n, row in enumerate(rows)]
    store = build_store(tmp_path, numbered, settings=settings)
    clear = {row["crew"]: row["is_clear"] for row in read(store, 9).entries.to_dicts()}
    assert clear["X"] is True
    assert clear["Y"] is False


def test_of_none_found_nobody_is_retrained(tmp_path: Path) -> None:
    """Three anchors that conform leave a high rate open, and are no ground to teach."""
    rows = crew("NEW", 3, 0, weeks=1)
    for number in range(6):
        rows += crew(f"C{number}", 20, number)
    listed = read(build_store(tmp_path, rows), budget=9).entries
    assert "NEW" not in listed["crew"].to_list()
    assert "C5" in listed["crew"].to_list()


def test_a_tool_is_seen_to_before_anybody_is_taught(tmp_path: Path) -> None:
    """A's bits cost more anchors than B's torque, and no teaching mends a bit."""
    worn: Row = {"bit_diameter_mm": "11.0"}
    sound: Row = {"bit_diameter_mm": "12.3"}
    rows = [row | worn for row in crew("A", 20, 0)]
    rows += [row | sound for row in crew("B", 20, 8)]
    for number in range(6):
        rows += [row | sound for row in crew(f"C{number}", 20, 0)]
    store = build_store(tmp_path, rows)
    both = Selection(check_names=("setting_torque", "drill_bit"))
    found = read(store, selection=both)
    clear = found.entries.filter("is_clear").to_dicts()
    assert [(row["crew"], row["check"]) for row in clear] == [
        ("A", "drill_bit"),
        ("B", "setting_torque"),
    ]
    lead, tools, _ = lead_words(found, clear, {})
    assert lead.startswith("Retrain crew B (SITE-1) on setting torque first")
    assert tools.startswith(
        "See to these before anybody is taught: a sound bit for crew A (drill bit, "
    )
    assert lead_words(found, clear[:1], {})[0].startswith("See to a sound bit for crew")


def test_what_a_crew_did_long_ago_is_no_evidence(store: Store) -> None:
    found = read(store)
    assert found.from_on == LAST - timedelta(weeks=26) + timedelta(days=1)
    assert found.pace_from_on == LAST - timedelta(weeks=8) + timedelta(days=1)
    ever = read(store, selection=Selection(date(2025, 1, 1), None, (), ("C0",)))
    assert ever.entries.row(0, named=True)["nonconforming"] == 120  # 100 + 20 x 1


def test_budget_and_filter(store: Store) -> None:
    assert read(store, budget=1).entries.height == 1
    one = Selection(check_names=("setting_torque",), crew_codes=("C1",))
    found = read(store, selection=one)
    assert set(found.entries["crew"]) <= {"C1"}
    # All are weighed all the same.
    assert found.pairs == 6


def test_spotless_checks_hide_nobody(store: Store) -> None:
    """All anchors conform on the other checks: no dealing out can raise an alarm."""
    of_one, of_all = read(store), read(store, selection=Selection())
    assert (of_all.pairs, of_one.pairs) == (6, 6)
    names = ["crew", "check", "q_value", "is_clear"]
    assert of_all.entries.select(names).equals(of_one.entries.select(names))


def test_less_than_an_anchor_is_no_reason_to_train(store: Store) -> None:
    """The four C have 1 of 20 each, as the better quarter has: nothing to be spared."""
    assert read(store).entries["crew"].to_list() == ["A"]


def test_work_that_no_other_crew_did_is_said_and_not_compared(tmp_path: Path) -> None:
    """K alone sets M10, 30 of 100 of them loose; its 20 of M12 are as the others'."""
    m10: Row = {"setting_code": "Z-M10-60", "anchor_size": "M10"}
    own = [row | {"setting_code": "Z-M10-60"} for row in crew("K", 10, 3, weeks=10)]
    rows = [*crew("K", 20, 1, weeks=1), *crew("A", 20, 1), *crew("B", 20, 1), *own]
    found = read(build_store(tmp_path, rows, settings=[{}, m10]))
    assert "K" not in found.entries["crew"].to_list()
    assert found.unlike == (Unlike("K", "setting_torque", 30, 100),)
    said = " ".join(list_words(found, 5))
    assert "tells the crew from the work: crew K on setting torque (30/100)." in said


def test_no_installation_no_list(tmp_path: Path) -> None:
    found = read(build_store(tmp_path))
    assert found.entries.is_empty()
    assert list_words(found, 5) == ["No installation matches these filters."]


def test_a_lone_crew_is_not_weighed(tmp_path: Path) -> None:
    found = read(build_store(tmp_path, [{} for _ in range(3)]))
    assert found.pairs == 0
    said = " ".join(list_words(found, 5))
    assert "No crew can be told from another on any check: none compares" in said
    assert "pairs of crew" not in said
    assert "No pair has anything to gain" not in said


def test_directions_of_two_crews(store: Store) -> None:
    with store.reader() as con:
        crews = Selection(crew_codes=("A", "C1"))
        sides = read_directions(con, ["setting_torque"], crews)
    assert sides.rows() == [
        ("A", "setting_torque", "under", 0.75),
        ("C1", "setting_torque", "over", 1.0),
    ]


# A has 6 of 20 under and 2 over. The depths of C1 are as the setting data want them,
# those of D are 20 mm short.
def test_directions_of_several_checks(tmp_path: Path) -> None:
    rows = crew("A", 20, 6, 2, weeks=1) + crew("C1", 20, 0, 1, weeks=1)
    rows += [row | {"hole_depth_mm": 60} for row in crew("D", 20, 0, 5, weeks=1)]
    with build_store(tmp_path, rows).reader() as con:
        sides = read_directions(con, ["hole_depth", "setting_torque"], Selection())
    assert sides.rows() == [
        ("A", "setting_torque", "under", 0.75),
        ("C1", "setting_torque", "over", 1.0),
        ("D", "hole_depth", "shallow", 1.0),
        ("D", "setting_torque", "over", 1.0),
    ]


def test_the_sentence_says_it(store: Store) -> None:
    found = read(store)
    said = entry_words(found.entries.row(0, named=True)).replace("\xa0", " ")
    assert said.startswith(
        "Crew A (SITE-1), setting torque: 160/400 nonconforming, 75.0 % of them under "
        "the band"
    )
    assert "of the next 160." in said
    assert "not clear of chance" not in said
    assert "no answer" not in said
    notes = " ".join(list_words(found, 5))
    # Six crews, one check: 6 x 4.55 % and 6 x 0.27 %.
    assert "6 pairs of crew and check, those in whose like work" in notes
    assert "chance alone would put 0.3 or less of them two standard errors" in notes
    assert "or more off, and fewer than 0.1 three" in notes


def test_a_crew_whose_site_logs_no_orientation_can_be_clear(tmp_path: Path) -> None:
    # 160 of 400 wrong, where the others, at floors all of them, have 20 of 400 each.
    rows = [row | {"orientation": ""} for row in crew("A", 20, 8)]
    rows += [row for number in range(3) for row in crew(f"C{number}", 20, 0, 1)]
    first = read(build_store(tmp_path, rows)).entries.row(0, named=True)
    assert (first["crew"], first["is_clear"]) == ("A", True)


def test_what_crews_have_in_common_is_said(tmp_path: Path) -> None:
    # Of each crew half the holes are 10 mm short, and the torques of 2 in 20 wrong.
    rows = [row for name in "AB" for row in crew(name, 20, 0, 2, weeks=1)]
    for place, row in enumerate(rows):
        row["hole_depth_mm"] = 80 if place % 2 else 92
    found = read(build_store(tmp_path, rows), selection=Selection())
    assert [(one.check, one.nonconforming, one.judged) for one in found.totals] == [
        ("hole_depth", 20, 40),
        ("setting_torque", 4, 40),
    ]
    assert not found.entries["is_clear"].any()
    [_, common] = lead_words(found, [], {})
    assert common.replace("\xa0", " ").endswith(
        "over all of them: hole depth 50.0 % (20/40) and setting torque 10.0 % (4/40)."
    )
    assert common in list_words(found, 5)


# A quarter of A's checks have no answer; a fifth is not more than a fifth.
def test_an_entry_says_who_where_and_what_is_missing(tmp_path: Path) -> None:
    silent: Row = {"setting_torque_nm": ""}
    here = crew("A", 20, 8) + [row | silent for row in crew("A", 20, 8, weeks=10)]
    here += crew("C0", 20, 1) + [row | silent for row in crew("C0", 20, 0, weeks=5)]
    there = crew("A", 20, 8, weeks=10) + crew("C1", 20, 1)
    store = build_store(tmp_path, sites={"NORTH": here, "SOUTH": there})
    names = [{"crew_code": "A", "crew_name": "Pier gang"}]
    load(store, write_csv(tmp_path / "crews.csv", names))
    found = read(store)
    first = found.entries.row(0, named=True)
    assert (first["crew"], first["missing"], first["judged"]) == ("A", 200, 600)
    assert (first["crew_name"], first["site_codes"]) == (
        "Pier gang",
        ["NORTH", "SOUTH"],
    )
    said = entry_words(first, {"NORTH": "North quay"}).replace("\xa0", " ")
    assert said.startswith("Crew A (Pier gang, North quay, SOUTH), setting torque: ")
    assert "200 of its 800 checks have no answer; the number spared takes" in said
    last = dict(first) | {"missing": 100, "judged": 400, "crew_name": None}
    assert "no answer" not in entry_words(last)
    assert entry_words(last).startswith("Crew A (NORTH, SOUTH), ")


def test_nobody_is_below_nothing(store: Store) -> None:
    first = dict(read(store).entries.row(0, named=True))
    said = entry_words(first | {"reachable_rate": 0.00004}).replace("\xa0", " ")
    assert "where on like work the better quarter of crews is at 0 %. Reaching" in said
    said = entry_words(first | {"reachable_rate": 0.00006}).replace("\xa0", " ")
    assert "crews is below 0.01 %. Reaching" in said


def plan(crew_code: str, holes: int, *, weeks: int, after_weeks: int = 0) -> Row:
    first_on = LAST + timedelta(days=1, weeks=after_weeks)
    return {
        "site_code": "SITE-1",
        "crew_code": crew_code,
        "setting_code": "M12-68",
        "planned_from_on": first_on.isoformat(),
        "planned_to_on": (first_on + timedelta(weeks=weeks, days=-1)).isoformat(),
        "hole_count": holes,
        "drill_method": "",
        "orientation": "",
    }


# Half of A's 400 holes lie in the next 8 weeks; the 300 without a crew are shared by
# what each did in the last 8: 160 anchors by A and four others, 20 by C9, which worked
# in one week. A hole is one check of torque; the plan stands for all work of the site.
def test_planned_holes_count_where_they_are_loaded(tmp_path: Path) -> None:
    rows = [row for number in range(4) for row in crew(f"C{number}", 20, 0, 1)]
    store = build_store(
        tmp_path, crew("A", 20, 6, 2) + crew("C9", 20, 8, weeks=1) + rows
    )
    with store.reader() as con:
        before = read_retraining(con, TORQUE, 9)
    assert before.planned_sites == ()
    assert before.entries["planned"].to_list()[0] == 8 * 20
    sheet = [
        plan("A", 400, weeks=16),
        plan("", 300, weeks=8),
        plan("A", 999, weeks=8, after_weeks=8),
    ]
    load(store, write_csv(tmp_path / "planned_holes.csv", sheet))
    with store.reader() as con:
        found = read_retraining(con, TORQUE, 9)
    planned = dict(found.entries.select("crew", "planned").iter_rows())
    assert planned["A"] == round(200 + 300 * 160 / 820)
    assert planned["C9"] == round(300 * 20 / 820)
    assert found.planned_sites == ("SITE-1",)
    assert found.planned_holes == pytest.approx(500)
    said = " ".join(list_words(found, 9)).replace("\xa0", " ")
    assert "the 500 holes that the sheet of planned holes has" in said
