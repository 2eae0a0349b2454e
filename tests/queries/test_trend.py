"""The trend of a check, from rows through the loader to the words a reader gets."""

from collections.abc import Sequence
from datetime import date, timedelta
from math import isfinite
from pathlib import Path

import pytest

from queries.errors import FirmsetError
from queries.readers.trend import period_days, read_limits, read_trend, read_trends
from queries.selection import Selection
from queries.statistics.charted import Trend
from queries.store import Store
from tests.builders import Row, build_store

MONDAY = date(2025, 9, 1)
TORQUE = "setting_torque"


def log(weeks: Sequence[tuple[int, int]], *, bad_day: bool = False) -> list[Row]:
    """Return rows of (nonconforming, judged) a week, over its five working days.

    `bad_day`: all nonconforming ones of a week on one day, else dealt out in turn.
    """
    return [
        {
            "installed_on": (
                MONDAY
                + timedelta(
                    weeks=week, days=number * 5 // judged if bad_day else number % 5
                )
            ).isoformat(),
            "setting_torque_nm": "75" if number < nonconforming else "55",
        }
        for week, (nonconforming, judged) in enumerate(weeks)
        for number in range(judged)
    ]


def read(store: Store, **options: date) -> Trend:
    with store.reader() as con:
        return read_trend(con, TORQUE, "week", Selection(), **options)


QUIET = [(3, 40), (2, 40), (4, 40), (3, 40)] * 3


def test_baseline_is_the_first_twelve_with_anything_judged(tmp_path: Path) -> None:
    weeks = [*QUIET[:6], (0, 0), *QUIET[6:], (20, 40)]
    found = read(build_store(tmp_path, log(weeks)))
    assert found.baseline is not None
    assert (found.baseline.first, found.baseline.last) == ("2025-W36", "2025-W48")
    # 36 of 480; the idle week and the bad last one are not in it.
    assert (found.baseline.nonconforming, found.baseline.judged) == (36, 480)
    assert found.centre == pytest.approx(36 / 480)
    assert found.points[6].rate is None
    assert found.points[6].upper is None
    assert found.points[6].signals == ()
    assert "beyond_upper" in found.points[-1].signals
    assert found.method.startswith("p chart")
    assert found.sigma_z == 1.0


def test_a_given_baseline_holds_every_week_with_a_day_in_it(tmp_path: Path) -> None:
    store = build_store(tmp_path, log(QUIET))
    # Wednesday of week 37 to Monday of week 39: three weeks, 2 + 4 + 3 of 120.
    found = read(store, baseline_from=date(2025, 9, 10), baseline_to=date(2025, 9, 22))
    assert found.baseline is not None
    assert (found.baseline.periods, found.baseline.nonconforming) == (3, 9)
    assert any("provisional" in note for note in found.notes)
    with pytest.raises(FirmsetError, match="no week in it has anything judged"):
        read(store, baseline_from=date(2030, 1, 1))


def test_dates_choose_points_and_leave_the_baseline(tmp_path: Path) -> None:
    store = build_store(tmp_path, log([*QUIET, (9, 40), (9, 40)]))
    selection = Selection(from_on=MONDAY + timedelta(weeks=12))
    with store.reader() as con:
        found = read_trend(con, TORQUE, "week", selection)
    assert [point.period for point in found.points] == ["2025-W48", "2025-W49"]
    assert found.baseline is not None
    assert found.baseline.nonconforming == 36


# Faults come in bad days: the same counts, all of a week on one of its days, make the
# wider p′ chart; spread over the week they are a p chart's.
def test_bad_days_widen_the_limits(tmp_path: Path) -> None:
    weeks = [(1, 40), (9, 40), (2, 40), (8, 40)] * 4
    spread = read(build_store(tmp_path / "a", log(weeks)))
    bad = read(build_store(tmp_path / "b", log(weeks, bad_day=True)))
    assert spread.method.startswith("p chart")
    assert bad.method.startswith("Laney p′ chart")
    # By hand: z = (x - 5) / sqrt(40 x 0.125 x 0.875); the counts of the first twelve
    # weeks move by 8, 7 and 6 three times each and by 7 twice: 77 / 11 = 7 on average.
    assert bad.sigma_z == pytest.approx(7 / 4.375**0.5 / 1.128)
    assert any("beyond_upper" in point.signals for point in spread.points) is False
    first_spread, first_bad = spread.points[0].upper, bad.points[0].upper
    assert first_spread is not None
    assert first_bad is not None
    assert first_bad - 0.125 == pytest.approx(bad.sigma_z * (first_spread - 0.125))


def test_a_bad_week_of_the_baseline_is_named(tmp_path: Path) -> None:
    # 2 of 40 but for 14 in the fourth week, spread over its days: the centre is 36 of
    # 480, 7.5 %, and the limit 7.5 + 3 x 4.16 = 20 %; found are 35.
    weeks = [(2, 40)] * 16
    weeks[3] = (14, 40)
    found = read(build_store(tmp_path, log(weeks)))
    assert "beyond_upper" in found.points[3].signals
    [said] = [one for one in found.notes if "in the baseline itself" in one]
    assert said.startswith(f"{found.points[3].period} lies beyond the limits")
    even = read(build_store(tmp_path / "even", log([(2, 40)] * 16)))
    assert not [one for one in even.notes if "in the baseline itself" in one]


def test_eight_in_a_row_propose_a_baseline_and_do_not_set_it(tmp_path: Path) -> None:
    found = read(build_store(tmp_path, log([*QUIET, *[(5, 40)] * 8])))
    assert "run_above" in found.points[-1].signals
    assert "run_above" not in found.points[-2].signals
    assert found.baseline is not None
    assert found.baseline.last == "2025-W47"
    assert "a new baseline from 2025-W48" in " ".join(found.notes)


def test_rare_events_get_a_g_chart_that_says_the_order_is_unknown(
    tmp_path: Path,
) -> None:
    weeks = [(0, 40), (1, 40)] * 6 + [(4, 40)]
    found = read(build_store(tmp_path, log(weeks)))
    assert found.method.startswith("g chart")
    assert "order inside a day is unknown" in found.method
    # 6 of 480: four or more of 40 have 0.15 % by the binomial, five 0.013 %.
    assert found.points[-1].signals == ()
    more = read(build_store(tmp_path / "more", log([*weeks[:-1], (5, 40)])))
    assert "beyond_upper" in more.points[-1].signals


def test_a_period_too_short_for_its_limit_has_no_such_rule(tmp_path: Path) -> None:
    """Two of 24 in the baseline: both of a week's two are 1/144, more than 0.135 %."""
    weeks = [(1 if week in (3, 8) else 0, 2) for week in range(20)]
    found = read(build_store(tmp_path, log(weeks)))
    assert "g chart" in found.method
    assert "beyond_upper" not in [rule.signals for rule in found.rules]
    assert found.run_length is not None and isfinite(found.run_length)


# Of 130 anchors, that both nonconforming ones are among the last 10 has a chance of
# 10 * 9 / (130 * 129), 0.54 %; that all three are, of 0.034 %.
def test_no_nonconforming_in_the_baseline_is_no_limit_of_zero(tmp_path: Path) -> None:
    quiet = [(0, 10)] * 12
    found = read(build_store(tmp_path, log([*quiet, (2, 10), (0, 0), (3, 10)])))
    assert found.centre == 0.0
    assert found.method.startswith("exact limits beside a baseline of which no anchor")
    assert [point.upper for point in found.points[-3:]] == [0.2, None, 0.2]
    assert found.points[-3].signals == ()
    assert found.points[-1].signals == ("beyond_upper", "drift_above")


def test_after_a_clean_baseline_a_slow_rise_is_seen(tmp_path: Path) -> None:
    weeks = [(0, 10)] * 12 + [(1, 10)] * 6 + [(0, 10)]
    found = read(build_store(tmp_path, log(weeks)))
    # By scipy's fisher_exact 5 of 50 after 0 of 120 have 0.19 %, 6 of 60 have 0.11 %. A
    # week with none adds none, and does not signal.
    assert [point.signals for point in found.points[12:]] == [
        *[()] * 5,
        ("drift_above",),
        (),
    ]


def test_where_all_were_nonconforming_the_first_conforming_ones_are_seen(
    tmp_path: Path,
) -> None:
    found = read(build_store(tmp_path, log([(10, 10)] * 12 + [(8, 10), (7, 10)])))
    assert found.centre == 1.0
    assert (found.points[-2].lower, found.points[-2].upper) == (0.8, 1.0)
    assert found.points[-2].signals == ()
    assert found.points[-1].signals == ("beyond_lower", "drift_below")


def test_nothing_judged_is_no_chart(tmp_path: Path) -> None:
    store = build_store(tmp_path, [{"setting_torque_nm": ""}])
    found = read(store)
    assert (found.centre, found.baseline) == (None, None)
    assert "nothing judged" in found.method
    with store.reader() as con:
        nobody = Selection(crew_codes=("NOBODY",))
        assert read_trend(con, TORQUE, "week", nobody).points == ()


def test_groups_are_charted_each_by_itself(tmp_path: Path) -> None:
    rows = [row | {"crew_code": "A"} for row in log(QUIET)]
    rows += [row | {"crew_code": "B"} for row in log([(9, 40)] * 12)]
    store = build_store(tmp_path, rows)
    with store.reader() as con:
        both = read_trends(con, TORQUE, "week", Selection(), "crew")
        alone = read_trend(con, TORQUE, "week", Selection(crew_codes=("A",)))
        limits = read_limits(con, Selection(check_names=(TORQUE,)), "crew")
    assert both["A"] == alone
    assert both["B"].centre == pytest.approx(9 / 40)
    assert limits["crew"].unique().sort().to_list() == ["A", "B"]
    assert limits.height == 24


@pytest.mark.parametrize(
    ("label", "days"),
    [
        ("2026-W53", (date(2026, 12, 28), date(2027, 1, 3))),
        ("2024-02", (date(2024, 2, 1), date(2024, 2, 29))),
        ("2025-12", (date(2025, 12, 1), date(2025, 12, 31))),
    ],
)
def test_days_of_a_period(label: str, days: tuple[date, date]) -> None:
    assert period_days(label) == days
