"""What changed since last month, counted by hand."""

from datetime import UTC, date, datetime
from pathlib import Path

import polars as pl
import pytest

from queries.errors import FirmsetError
from queries.readers.changes import read_changes
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store

TORQUE = Selection(check_names=("setting_torque",))


def month(
    first: date, count: int, bad: int, *, crew: str = "C1", blank: int = 0
) -> list[Row]:
    """Anchors on the first 20 days in turn: `bad` over-torqued, `blank` unrecorded."""
    torques = ["75"] * bad + ["55"] * (count - bad - blank) + [""] * blank
    return [
        {
            "installed_on": first.replace(day=1 + number % 20).isoformat(),
            "setting_torque_nm": torque,
            "crew_code": crew,
        }
        for number, torque in enumerate(torques)
    ]


MARCH, APRIL, MAY = date(2027, 3, 1), date(2027, 4, 1), date(2027, 5, 1)
JUNE = date(2027, 6, 1)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """WORSE 4/200 then 40/200; SAME 10/200 twice; NEW, GONE, BACK and LONG."""
    return build_store(
        tmp_path_factory.mktemp("changes"),
        sites={
            "WORSE": [*month(MAY, 200, 4), *month(JUNE, 220, 40, blank=20)],
            "SAME": [
                *month(MAY, 200, 10, crew="C2"),
                *month(JUNE, 200, 10, crew="C2"),
            ],
            "NEW": month(JUNE, 20, 1, crew="C3"),
            "GONE": month(MAY, 20, 1, crew="C4"),
            "BACK": [*month(APRIL, 20, 0, crew="C5"), *month(JUNE, 20, 0, crew="C5")],
            "LONG": month(MARCH, 20, 0, crew="C6"),
        },
    )


def test_counts_of_both_months(store: Store) -> None:
    with store.reader() as con:
        found = read_changes(con, "site", TORQUE)
    # Published on 2027-07-01 at 12 UTC, when June had just ended everywhere.
    assert (found.earlier, found.later) == (MAY, JUNE)
    assert found.looks["group"].to_list() == ["SAME", "WORSE"]
    worse = found.looks.row(1, named=True)
    assert (worse["earlier_nonconforming"], worse["earlier_judged"]) == (4, 200)
    assert (worse["later_nonconforming"], worse["later_judged"]) == (40, 200)
    assert (worse["earlier_missing"], worse["later_missing"]) == (0, 20)
    # 40/200 - 4/200.
    assert worse["difference"] == pytest.approx(0.18)
    assert found.looks["is_changed"].to_list() == [False, True]


def test_who_sent_what(store: Store) -> None:
    with store.reader() as con:
        groups = read_changes(con, "site", TORQUE).groups
    sent = {
        row["group"]: (row["earlier_installations"], row["later_installations"])
        for row in groups.to_dicts()
    }
    assert sent == {
        "BACK": (0, 20),
        "GONE": (20, 0),
        "LONG": (0, 0),
        "NEW": (0, 20),
        "SAME": (200, 200),
        "WORSE": (200, 220),
    }
    spans = {
        row["group"]: (row["first_on"], row["last_on"]) for row in groups.to_dicts()
    }
    assert spans["BACK"] == (date(2027, 4, 1), date(2027, 6, 20))


def test_nothing_is_known_from_after_the_dates(store: Store) -> None:
    with store.reader() as con:
        groups = read_changes(con, "site", Selection(to_on=date(2027, 5, 31))).groups
    assert groups["group"].to_list() == ["BACK", "GONE", "LONG", "SAME", "WORSE"]
    assert groups["last_on"][0] == date(2027, 4, 20)


@pytest.mark.parametrize(
    ("chosen", "later"),
    [
        # A month cut by the dates is not whole; the month before may lie outside.
        (Selection(from_on=date(2027, 6, 2)), None),
        (Selection(from_on=date(2027, 6, 1)), JUNE),
        (Selection(to_on=date(2027, 6, 29)), MAY),
        (Selection(to_on=date(2027, 6, 30)), JUNE),
        # Whoever is chosen, the months are the same: silence is then seen.
        (Selection(site_codes=("GONE",)), JUNE),
    ],
)
def test_months_of_the_dates(
    store: Store, chosen: Selection, later: date | None
) -> None:
    with store.reader() as con:
        assert read_changes(con, "site", chosen).later == later


def test_month_that_has_not_ended_everywhere(tmp_path: Path) -> None:
    rows = [*month(APRIL, 20, 1), *month(MAY, 20, 1), *month(JUNE, 20, 1)]
    store = build_store(tmp_path, rows, now=datetime(2027, 7, 1, 11, 59, tzinfo=UTC))
    with store.reader() as con:
        assert read_changes(con, "site", TORQUE).later == MAY


def test_filters_choose_what_is_looked_at(store: Store) -> None:
    with store.reader() as con:
        one = read_changes(con, "site", Selection(site_codes=("SAME",)))
        by_crew = read_changes(con, "crew", TORQUE)
    assert one.groups["group"].to_list() == ["SAME"]
    # All fourteen checks, in their order; nothing of WORSE.
    assert one.looks.height == 14
    assert by_crew.looks.filter(pl.col("is_changed"))["group"].to_list() == ["C1"]
    assert by_crew.looks["group"].to_list() == ["C1", "C2"]


def test_bad_days_are_no_change(tmp_path: Path) -> None:
    """12 of 200, on any days, then 30 of 200: a change; on two bad days: none."""

    def site(days: int) -> list[Row]:
        bad = [
            {
                "installed_on": JUNE.replace(day=1 + number % days).isoformat(),
                "setting_torque_nm": "75",
            }
            for number in range(30)
        ]
        may = [
            {
                "installed_on": MAY.replace(day=1 + number % days).isoformat(),
                "setting_torque_nm": "75",
            }
            for number in range(12)
        ]
        return [*may, *month(MAY, 188, 0), *bad, *month(JUNE, 170, 0)]

    p_values, is_changed = {}, {}
    for name, days in (("spread", 20), ("clustered", 2)):
        store = build_store(tmp_path / name, site(days))
        with store.reader() as con:
            looks = read_changes(con, "site", TORQUE).looks
        p_values[name] = looks["p_value"][0]
        is_changed[name] = looks["is_changed"][0]
    assert p_values["clustered"] > 3 * p_values["spread"]
    assert is_changed == {"spread": True, "clustered": False}


def test_any_check_only_where_named(store: Store) -> None:
    with store.reader() as con:
        found = read_changes(con, "site", Selection(check_names=("any_check",)))
        every = read_changes(con, "site", Selection())
    # Anchors with any fault: the torque ones, all else conforms.
    row = found.looks.filter(pl.col("group") == "WORSE").row(0, named=True)
    assert row["later_nonconforming"] == 40
    assert "any_check" not in every.looks["check"]


def test_unknown_key_and_check(store: Store) -> None:
    with store.reader() as con:
        with pytest.raises(FirmsetError, match="expected site or crew"):
            read_changes(con, "week", TORQUE)
        with pytest.raises(FirmsetError, match="unknown check 'colour'"):
            read_changes(con, "site", Selection(check_names=("colour",)))


def test_a_store_of_one_month(tmp_path: Path) -> None:
    store = build_store(tmp_path, month(JUNE, 20, 1))
    with store.reader() as con:
        found = read_changes(con, "site", TORQUE)
    assert found.later == JUNE
    assert found.looks.is_empty()
