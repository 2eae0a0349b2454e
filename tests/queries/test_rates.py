"""Rates: hand-counted rows, a plain-loop twin, and the traps of counting."""

from collections import Counter, defaultdict
from datetime import date, timedelta
from itertools import product
from pathlib import Path
from random import Random
from typing import Any

import pytest
from statsmodels.stats.proportion import proportion_confint

from queries.errors import FirmsetError
from queries.readers.choices import read_choices
from queries.readers.rates import RATE_KEYS, read_rates
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store

TORQUE = Selection(check_names=("setting_torque",))


def rates(
    store: Store, by: list[str], selection: Selection = TORQUE
) -> list[dict[str, Any]]:
    with store.reader() as con:
        return read_rates(con, by, selection).to_dicts()


def test_a_rate_with_its_counts(tmp_path: Path) -> None:
    store = build_store(
        tmp_path,
        [
            {},  # conforming
            {"setting_torque_nm": "30"},  # nonconforming
            {"setting_torque_nm": "70"},  # nonconforming
            {"setting_torque_nm": ""},  # unrecorded: in no rate
            {"setting_torque_nm": "tight"},  # unreadable: in no rate
            {"outcome": "abandoned"},  # inapplicable
        ],
    )
    [found] = rates(store, [])
    low, high = proportion_confint(2, 3, method="wilson")
    assert found == {
        "check": "setting_torque",
        "installations": 6,
        "judged": 3,
        "nonconforming": 2,
        "unrecorded": 1,
        "unreadable": 1,
        "inapplicable": 1,
        "rate": pytest.approx(2 / 3),
        "low": pytest.approx(low),
        "high": pytest.approx(high),
        # The two missing answers as conforming, and as nonconforming.
        "rate_if_unrecorded_conform": pytest.approx(2 / 5),
        "rate_if_unrecorded_not": pytest.approx(4 / 5),
    }


# 400 due, 220 judged, 11 nonconforming: 5.0 % of judged, not 2.75 % ("missing =
# pass"); 2.75 % to 47.75 % if nothing is assumed (the project's list of traps).
def test_unrecorded_is_never_a_pass(tmp_path: Path) -> None:
    rows = (
        [{"setting_torque_nm": "30"}] * 11
        + [{}] * 209
        + [{"setting_torque_nm": ""}] * 180
    )
    [found] = rates(build_store(tmp_path, rows), [])
    assert (found["judged"], found["nonconforming"]) == (220, 11)
    assert found["rate"] == pytest.approx(0.05)
    assert found["rate_if_unrecorded_conform"] == pytest.approx(0.0275)
    assert found["rate_if_unrecorded_not"] == pytest.approx(0.4775)


def test_nothing_to_judge_is_no_rate(tmp_path: Path) -> None:
    [found] = rates(build_store(tmp_path, [{"setting_torque_nm": ""}]), ["site"])
    assert (found["judged"], found["rate"], found["low"], found["high"]) == (
        0,
        None,
        None,
        None,
    )
    assert found["rate_if_unrecorded_not"] == 1.0


# ISO 8601: 2026-12-28 begins week 53 of 2026, which holds 2027-01-03; 2024-12-30
# belongs to week 1 of 2025.
def test_iso_weeks_at_the_turn_of_a_year(tmp_path: Path) -> None:
    days = ["2024-12-29", "2024-12-30", "2025-01-05", "2025-01-06"]
    store = build_store(tmp_path, [{"installed_on": day} for day in days])
    assert [(row["week"], row["judged"]) for row in rates(store, ["week"])] == [
        ("2024-W52", 1),
        ("2025-W01", 2),
        ("2025-W02", 1),
    ]


def test_idle_weeks_stay_for_every_group(tmp_path: Path) -> None:
    store = build_store(
        tmp_path,
        [
            {"installed_on": "2026-05-04", "crew_code": "A"},  # Monday of week 19
            {"installed_on": "2026-05-24", "crew_code": "B"},  # Sunday of week 21
        ],
    )
    found = [
        (row["crew"], row["week"], row["judged"], row["rate"])
        for row in rates(store, ["crew", "week"])
    ]
    assert found == [
        ("A", "2026-W19", 1, 0.0),
        ("A", "2026-W20", 0, None),
        ("A", "2026-W21", 0, None),
        ("B", "2026-W19", 0, None),
        ("B", "2026-W20", 0, None),
        ("B", "2026-W21", 1, 0.0),
    ]


def test_idle_months_stay(tmp_path: Path) -> None:
    days = ["2026-01-31", "2026-03-01"]
    store = build_store(tmp_path, [{"installed_on": day} for day in days])
    assert [(row["month"], row["judged"]) for row in rates(store, ["month"])] == [
        ("2026-01", 1),
        ("2026-02", 0),
        ("2026-03", 1),
    ]


def test_sizes_by_diameter_not_by_spelling(tmp_path: Path) -> None:
    sizes = ["M10", "M6", "1/2", "M8", "M12"]
    settings = [{"setting_code": f"S-{size}", "anchor_size": size} for size in sizes]
    store = build_store(
        tmp_path,
        [{"setting_code": f"S-{size}"} for size in sizes],
        settings=settings,
    )
    # 1/2 in is 12.7 mm.
    expected = ["M6", "M8", "M10", "M12", "1/2"]
    assert [row["anchor_size"] for row in rates(store, ["anchor_size"])] == expected
    with store.reader() as con:
        assert list(read_choices(con).anchor_sizes) == expected


def test_the_filters_are_inclusive_and_combine(tmp_path: Path) -> None:
    rows = [
        {"installed_on": "2026-05-03"},  # not included: too early
        {"installed_on": "2026-05-04"},
        {"installed_on": "2026-05-05"},
        {"installed_on": "2026-05-06"},  # not included: too late
        {"installed_on": "2026-05-04", "crew_code": "OTHER"},  # not included
    ]
    store = build_store(tmp_path, rows)
    selection = Selection(
        from_on=date(2026, 5, 4),
        to_on=date(2026, 5, 5),
        site_codes=("SITE-1",),
        crew_codes=("CREW-1",),
        anchor_sizes=("M12",),
        check_names=("setting_torque",),
    )
    [found] = rates(store, [], selection)
    assert found["installations"] == 2


@pytest.mark.parametrize(
    ("by", "words"),
    [
        (["colour"], "unknown key 'colour': expected site, crew"),
        (["site", "site"], "named twice"),
        (["week", "month"], "expected week or month, not both"),
    ],
)
def test_an_unknown_key_is_refused(tmp_path: Path, by: list[str], words: str) -> None:
    with pytest.raises(FirmsetError, match=words):
        rates(build_store(tmp_path, [{}]), by)


def test_an_unknown_check_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FirmsetError, match="unknown check 'colour'"):
        rates(build_store(tmp_path, [{}]), [], Selection(check_names=("colour",)))


def random_rows(count: int) -> list[Row]:
    random = Random(20260504)
    torque = ["55", "30", "70", "", "tight"]
    depth = ["92", "80", "", "deep"]
    return [
        {
            "installed_on": (
                date(2026, 4, 10) + timedelta(days=random.randrange(75))
            ).isoformat(),
            "crew_code": random.choice(["A", "B", "C"]),
            "setting_code": random.choice(["S-M8", "S-M12"]),
            "inspector_code": random.choice(["I", "J", ""]),
            "orientation": random.choice(["floor", "soffit", ""]),
            "drill_method": random.choice(["hammer", "core", ""]),
            "outcome": random.choice(["set", "set", "set", "abandoned", ""]),
            "setting_torque_nm": random.choice(torque),
            "hole_depth_mm": random.choice(depth),
        }
        for _ in range(count)
    ]


# Judged by the trade's words, on the row as written: 55 Nm within 10 %, 90 mm deep.
def plain_verdict(row: Row, check: str) -> str:
    column, low, high = {
        "setting_torque": ("setting_torque_nm", 49.5, 60.5),
        "hole_depth": ("hole_depth_mm", 90, 1e9),
    }[check]
    if row["outcome"] == "abandoned":
        return "inapplicable"
    if row[column] == "":
        return "unrecorded"
    try:
        value = float(str(row[column]))
    except ValueError:
        return "unreadable"
    return "conforming" if low <= value <= high else "nonconforming"


def plain_key(row: Row, key: str) -> object:
    day = date.fromisoformat(str(row["installed_on"]))
    return {
        "site": row.get("site"),
        "crew": row["crew_code"],
        "anchor_size": str(row["setting_code"])[2:],
        "week": f"{day.isocalendar().year}-W{day.isocalendar().week:02d}",
        "month": day.isoformat()[:7],
        "drill_method": row["drill_method"] or None,
        "orientation": row["orientation"] or None,
        "inspector": row["inspector_code"] or None,
    }[key]


@pytest.fixture(scope="module")
def twin(tmp_path_factory: pytest.TempPathFactory) -> tuple[Store, list[Row]]:
    rows = {"ONE": random_rows(400), "TWO": random_rows(650)[400:]}
    settings = [
        {"setting_code": f"S-{size}", "anchor_size": size} for size in ("M8", "M12")
    ]
    store = build_store(tmp_path_factory.mktemp("twin"), sites=rows, settings=settings)
    return store, [
        dict(row) | {"site": site} for site, given in rows.items() for row in given
    ]


@pytest.mark.parametrize(
    "by",
    [
        [],
        *([key] for key in RATE_KEYS),
        ["site", "crew"],
        ["crew", "week"],
        ["anchor_size", "month"],
        ["site", "drill_method", "orientation", "inspector"],
    ],
    ids=",".join,
)
def test_rates_equal_a_plain_count(
    twin: tuple[Store, list[Row]], by: list[str]
) -> None:
    store, rows = twin
    checks = ("hole_depth", "setting_torque")
    counted: dict[tuple[object, ...], dict[str, int]] = defaultdict(
        lambda: defaultdict(int)
    )
    for row, check in product(rows, checks):
        counts = counted[(*(plain_key(row, key) for key in by), check)]
        counts["installations"] += 1
        counts[plain_verdict(row, check)] += 1
    found = rates(store, by, Selection(check_names=checks))
    active = [row for row in found if row["installations"]]
    assert len(active) == len(counted)
    for row in active:
        counts = counted[(*(row[key] for key in by), row["check"])]
        assert row["judged"] == counts["conforming"] + counts["nonconforming"]
        for name in (
            "installations",
            "nonconforming",
            "unrecorded",
            "unreadable",
            "inapplicable",
        ):
            assert row[name] == counts[name], (row, name)


# Whole months are counted from the month tally, cut ones day by day.
@pytest.mark.parametrize("by", [["site"], ["month"], ["anchor_size"], ["week"]])
@pytest.mark.parametrize(
    "days",
    [
        ("2026-04-01", "2026-05-31"),
        ("2026-04-02", None),
        ("2026-05-01", None),
        (None, "2026-05-30"),
        (None, "2026-05-31"),
        ("2026-04-17", "2026-06-12"),
        ("2026-05-07", "2026-05-09"),
        ("2026-05-09", "2026-05-07"),
        ("0001-01-01", "9999-12-31"),
        ("9999-12-30", "9999-12-30"),
    ],
)
def test_dates_that_cut_months_count_the_days_asked_for(
    twin: tuple[Store, list[Row]], days: tuple[str | None, str | None], by: list[str]
) -> None:
    store, rows = twin
    first, last = (day and date.fromisoformat(day) for day in days)
    selection = Selection(first, last, check_names=("hole_depth",))
    counted = Counter(
        plain_key(row, by[0])
        for row in rows
        if (days[0] or "") <= str(row["installed_on"]) <= (days[1] or "~")
    )
    found = rates(store, by, selection)
    assert {
        row[by[0]]: row["installations"] for row in found if row["installations"]
    } == (counted)


# The views a person may query with a tool of their own give the readers' figures.
@pytest.mark.parametrize("key", ["site", "crew", "anchor_size", "week"])
def test_the_view_of_a_key_is_the_reader(
    twin: tuple[Store, list[Row]], key: str
) -> None:
    store, _ = twin
    with store.reader() as con:
        view = con.sql(f"select * from {key}_rate").pl()
        read = read_rates(con, [key], Selection())
    view = view.select(read.columns)
    assert sorted(view.rows(), key=str) == sorted(read.rows(), key=str)


def test_the_tally_is_a_count_of_the_rows(twin: tuple[Store, list[Row]]) -> None:
    store, rows = twin
    with store.reader() as con:
        total = con.execute("select sum(installations)::bigint from tally").fetchall()
        keys = con.execute(
            """
            select count(*) from tally
            group by installed_on, site_code, crew_code, anchor_size, setting_code,
                drill_method, orientation, inspector_code
            having count(*) > 1
            """
        ).fetchall()
    assert total == [(len(rows),)]
    assert keys == []
