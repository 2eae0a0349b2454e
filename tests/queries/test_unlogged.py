"""Planned holes beside anchors logged: counted by hand, and anew day by day."""

import random
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

from queries.readers.unlogged import much_unlogged, read_unlogged, unlogged_by_site
from queries.selection import Selection
from queries.store import Store
from tests.builders import INSTALLATION, Row, build_store, load, write_csv

SETTINGS: list[Row] = [{}, {"setting_code": "M16-84", "anchor_size": "M16"}]


def plan(
    first: str, last: str, holes: int, setting: str = "M12-68", **more: str
) -> Row:
    return {
        "site_code": "SITE-1",
        "crew_code": "",
        "setting_code": setting,
        "planned_from_on": first,
        "planned_to_on": last,
        "hole_count": holes,
    } | more


def logged(*days: str, **more: str) -> list[Row]:
    return [{"installed_on": f"2026-{day}"} | more for day in days]


def planned_store(
    folder: Path, plans: list[Row], sites: dict[str, list[Row]] | list[Row]
) -> Store:
    """Return a store with logs (of SITE-1, or by site) and a sheet of planned holes."""
    by_site = sites if isinstance(sites, dict) else {"SITE-1": sites}
    numbered = {
        site: [{"record_id": f"{site}{n}"} | dict(row) for n, row in enumerate(rows)]
        for site, rows in by_site.items()
    }
    store = build_store(folder, settings=SETTINGS, sites=numbered)
    result = load(store, write_csv(folder / "planned_holes.csv", plans))
    assert [receipt.rejected for receipt in result.receipts] == [0]
    return store


def lines(store: Store, selection: Selection | None = None) -> pl.DataFrame:
    with store.reader() as con:
        return read_unlogged(con, selection or Selection())


def counts(
    store: Store, selection: Selection | None = None
) -> dict[tuple[str, str], tuple[int, ...]]:
    """Return planned, logged, unlogged, beyond and ahead by site and setting data."""
    return {
        (row["site_code"], row["setting_code"]): tuple(
            row[name] for name in ("planned", "logged", "unlogged", "beyond", "ahead")
        )
        for row in lines(store, selection).to_dicts()
    }


M12, M16 = ("SITE-1", "M12-68"), ("SITE-1", "M16-84")


NEEDED = ("record_id", "installed_on", "crew_code", "setting_code")


# By hand: 8 on the planned days by two crews, of one nothing else logged, of one a
# torque that cannot be read, and 1 on the 28th day after them; not the abandoned
# attempt, the day before the plan, the 29th day after it.
def test_anchors_count_on_the_planned_days_and_four_weeks_after(tmp_path: Path) -> None:
    nothing = {name: "" for name in INSTALLATION if name not in NEEDED}
    rows = [
        *logged("05-01", "05-04", "05-14", "05-14"),
        *logged("05-04", "05-06", crew_code="CREW-2"),
        *logged("05-07", **nothing),
        *logged("05-07", **nothing | {"setting_torque_nm": "tight"}),
        *logged("05-05", outcome="abandoned"),
        *logged("04-30", "06-11", "06-12"),
    ]
    store = planned_store(tmp_path, [plan("2026-05-01", "2026-05-14", 10)], rows)
    assert counts(store) == {M12: (10, 9, 1, 0, 0)}
    [line] = lines(store).to_dicts()
    assert (line["anchor_size"], line["first_on"], line["last_on"]) == (
        "M12",
        date(2026, 5, 1),
        date(2026, 5, 14),
    )


# By hand: 2 in January and 1 on the 28th day after it; those of April, twelve weeks
# after one plan and eight before the next, stand for no hole of either.
def test_a_later_plan_does_not_fill_the_gap_of_an_earlier(tmp_path: Path) -> None:
    plans = [plan("2026-01-05", "2026-01-09", 5), plan("2026-06-01", "2026-06-05", 1)]
    days = ("01-05", "01-09", "02-06", "02-07", "04-01", "04-02", "06-05")
    assert counts(planned_store(tmp_path, plans, logged(*days))) == {
        M12: (6, 4, 2, 0, 0)
    }


# An abandoned attempt shows as well as an anchor that the log has passed a day.
@pytest.mark.parametrize(
    ("last", "expected"), [("05-13", (0, 0, 0, 0, 4)), ("05-14", (4, 1, 3, 0, 0))]
)
def test_a_plan_is_due_once_the_log_reaches_its_last_day(
    tmp_path: Path, last: str, expected: tuple[int, ...]
) -> None:
    rows = logged("05-04") + logged(last, outcome="abandoned")
    store = planned_store(tmp_path, [plan("2026-05-01", "2026-05-14", 4)], rows)
    assert counts(store) == {M12: expected}


# Of both plans are those of the 12th; those of the 18th and 20th are of the second
# alone, which is not due.
def test_days_of_a_plan_that_is_not_due_count_for_no_other(tmp_path: Path) -> None:
    plans = [plan("2026-05-01", "2026-05-14", 5), plan("2026-05-10", "2026-05-31", 9)]
    store = planned_store(
        tmp_path, plans, logged("05-04", "05-12", "05-12", "05-18", "05-20")
    )
    assert counts(store) == {M12: (5, 3, 2, 0, 9)}


def test_one_setting_data_beyond_its_plan_is_no_hole_of_another(tmp_path: Path) -> None:
    plans = [
        plan("2026-05-01", "2026-05-14", 2),
        plan("2026-05-01", "2026-05-14", 3, "M16-84"),
    ]
    store = planned_store(tmp_path, plans, logged("05-04", "05-05", "05-06", "05-14"))
    assert counts(store) == {M12: (2, 4, 0, 2, 0), M16: (3, 0, 3, 0, 0)}
    assert unlogged_by_site(lines(store)).to_dicts() == [
        {
            "site_code": "SITE-1",
            "planned": 5,
            "logged": 4,
            "unlogged": 3,
            "beyond": 2,
            "ahead": 0,
            "unknown": 0,
            "unlogged_rate": 3 / 5,
        }
    ]
    with_size = Selection(anchor_sizes=("M16",))
    assert counts(store, with_size) == {M16: (3, 0, 3, 0, 0)}


# A plan of which only some days are chosen is not compared, nor one of other days.
@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ((date(2026, 5, 1), date(2026, 5, 14)), (3, 1, 2, 0, 0)),
        ((date(2026, 5, 2), None), (7, 2, 5, 0, 3)),
        ((None, date(2026, 5, 13)), (0, 0, 0, 0, 3)),
        ((date(2026, 5, 15), None), (7, 2, 5, 0, 0)),
        ((None, None), (10, 3, 7, 0, 0)),
    ],
)
def test_plans_lie_whole_in_the_days_chosen(
    tmp_path: Path, days: tuple[date | None, date | None], expected: tuple[int, ...]
) -> None:
    plans = [plan("2026-05-01", "2026-05-14", 3), plan("2026-05-15", "2026-05-20", 7)]
    store = planned_store(tmp_path, plans, logged("05-01", "05-15", "05-20"))
    assert counts(store, Selection(*days)) == {M12: expected}
    before = Selection(to_on=date(2026, 4, 30))
    assert counts(store, before) == {}


def test_each_site_by_its_own_log_and_one_that_sent_none(tmp_path: Path) -> None:
    plans = [
        plan("2026-05-01", "2026-05-04", 3, site_code=site)
        for site in ("EAST", "GHOST", "WEST")
    ]
    sites = {"EAST": logged("05-03"), "WEST": logged("05-01", "05-04")}
    store = planned_store(tmp_path, plans, sites)
    found = {site: row for (site, _), row in counts(store).items()}
    assert found == {
        "EAST": (0, 0, 0, 0, 3),
        "GHOST": (0, 0, 0, 0, 3),
        "WEST": (3, 2, 1, 0, 0),
    }
    by_site = unlogged_by_site(lines(store))
    assert by_site["site_code"].to_list() == ["WEST", "EAST", "GHOST"]
    assert by_site["unlogged_rate"].to_list() == [1 / 3, None, None]
    assert [*counts(store, Selection(site_codes=("WEST",)))] == [("WEST", "M12-68")]


# Its days are over, but no anchor can be logged of what no setting data describe.
def test_a_plan_of_unknown_setting_data_is_counted_by_itself(tmp_path: Path) -> None:
    plans = [
        plan("2026-05-01", "2026-05-04", 3),
        plan("2026-05-05", "2026-05-08", 4),
        plan("2026-05-01", "2026-05-04", 7, "M99"),
    ]
    store = planned_store(tmp_path, plans, logged("05-04"))
    assert counts(store) == {M12: (3, 1, 2, 0, 4), ("SITE-1", "M99"): (0, 0, 0, 0, 0)}
    assert lines(store)["unknown"].to_list() == [0, 7]
    [site] = unlogged_by_site(lines(store)).to_dicts()
    assert (site["planned"], site["unlogged"], site["unknown"]) == (3, 2, 7)
    assert lines(store, Selection(anchor_sizes=("M12",))).height == 1


def test_crews_choose_nothing(tmp_path: Path) -> None:
    plans = [plan("2026-05-01", "2026-05-04", 3, crew_code="CREW-1")]
    store = planned_store(tmp_path, plans, logged("05-04", crew_code="CREW-2"))
    one_crew = Selection(crew_codes=("CREW-1",))
    assert counts(store) == counts(store, one_crew) == {M12: (3, 1, 2, 0, 0)}


# 5 holes, and a tenth of what is planned: project defaults.
@pytest.mark.parametrize(
    ("planned", "unlogged", "is_much"),
    [(50, 5, True), (51, 5, False), (10, 4, False), (5, 5, True)],
)
def test_much_is_five_holes_and_a_tenth(
    planned: int, unlogged: int, *, is_much: bool
) -> None:
    by_site = pl.DataFrame(
        {
            "site_code": ["SITE-1"],
            "unlogged": [unlogged],
            "unlogged_rate": [unlogged / planned],
        }
    )
    assert much_unlogged(by_site).height == is_much


def by_days(plans: list[Row], rows: list[Row]) -> tuple[int, int, int]:
    """Return planned, logged and ahead of one site and setting data, day by day."""
    days = [date.fromisoformat(str(row["installed_on"])) for row in rows]
    spans = [
        (
            date.fromisoformat(str(one["planned_from_on"])),
            date.fromisoformat(str(one["planned_to_on"])),
            int(str(one["hole_count"])),
        )
        for one in plans
    ]
    due = [span for span in spans if days and span[1] <= max(days)]
    others = [span for span in spans if span not in due]
    logged = 0
    for row, day in zip(rows, days, strict=True):
        if row["outcome"] == "abandoned" or not due:
            continue
        on_due = any(first <= day <= last for first, last, _ in due)
        on_other = any(first <= day <= last for first, last, _ in others)
        is_late = any(last < day <= last + timedelta(days=28) for _, last, _ in due)
        logged += on_due or (is_late and not on_other)
    return sum(span[2] for span in due), logged, sum(span[2] for span in others)


def test_counts_are_those_of_every_day_looked_at_by_itself(tmp_path: Path) -> None:
    dealt = random.Random(20261130)
    start = date(2026, 1, 1)

    def day() -> date:
        return start + timedelta(days=dealt.randrange(120))

    plans: list[Row] = []
    sites: dict[str, list[Row]] = {}
    for number in range(40):
        site = f"S{number}"
        firsts = dealt.sample(range(120), dealt.randint(1, 4))
        for first in firsts:
            begins = start + timedelta(days=first)
            ends = begins + timedelta(days=dealt.randrange(25))
            holes = dealt.randint(1, 9)
            plans.append(plan(str(begins), str(ends), holes, site_code=site))
        sites[site] = [
            {
                "installed_on": str(day()),
                "outcome": dealt.choice(["set", "set", "replaced", "abandoned"]),
                "crew_code": dealt.choice(["A", "B"]),
                "hole_depth_mm": dealt.choice(["92", "", "deep"]),
            }
            for _ in range(dealt.randint(1, 12))
        ]
    store = planned_store(tmp_path, plans, sites)
    found = {
        site: (planned, logged, ahead)
        for (site, _), (planned, logged, _, _, ahead) in counts(store).items()
    }
    assert found == {
        site: by_days([one for one in plans if one["site_code"] == site], rows)
        for site, rows in sites.items()
    }
    # Each kind is in it: some due, some not, some logged beyond their plan.
    assert sum(planned > 0 for planned, _, _ in found.values()) > 20
    assert sum(ahead > 0 for _, _, ahead in found.values()) > 10
    assert any(logged > planned > 0 for planned, logged, _ in found.values())
