"""The sentence beside a chart that reads otherwise than it means; made-up counts."""

from typing import Any

import polars as pl
import pytest
from statsmodels.stats.proportion import proportion_confint

from dashboard.counter_headline import (
    Counts,
    comparison_counter,
    drilling_counter,
    fell_with_recording,
    trend_counter,
)
from queries.statistics.exact import upper_limit_of_none


def plain(words: str | None) -> str:
    return (words or "").replace("\xa0", " ").replace("\u202f", " ")


def site(
    code: str,
    judged: int,
    nonconforming: int,
    *,
    expected: float | None = None,
    flagged: bool = False,
    missing: int = 0,
    low: float = 0.0,
    silent: int = 0,
    silent_found: int = 0,
) -> dict[str, Any]:
    """One site; `expected` nonconforming for its mix (default: as found)."""
    return {
        "site": code,
        "group": code,
        "judged": judged,
        "nonconforming": nonconforming,
        "unrecorded": missing,
        "unreadable": 0,
        "rate": nonconforming / judged if judged else None,
        "low": low,
        "high": proportion_confint(nonconforming, judged, method="wilson")[1]
        if judged
        else None,
        "rate_if_unrecorded_not": (nonconforming + missing) / (judged + missing)
        if judged
        else None,
        "expected": nonconforming if expected is None else expected,
        "silent_judged": silent,
        "silent_nonconforming": silent_found,
        "clean_up_to": upper_limit_of_none(judged) if not nonconforming else None,
        "ratio": None if not expected else nonconforming / expected,
        "flagged": flagged,
    }


def said(*sites: dict[str, Any]) -> str | None:
    total = sum(row["judged"] for row in sites)
    found = sum(row["nonconforming"] for row in sites)
    rows = [
        row
        | {
            "others_nonconforming": found - row["nonconforming"],
            "others_judged": total - row["judged"],
            "others_rate": (found - row["nonconforming"]) / (total - row["judged"]),
        }
        for row in sites
    ]
    return comparison_counter(rows, rows, "site", {"HARD": "Hard Rock yard"})


def test_worst_raw_rate_owed_to_the_mix() -> None:
    """HARD has 41/1000 where its sizes give 39; BAD is flagged at a lower raw rate."""
    words = plain(
        said(
            site("HARD", 1000, 41, expected=39.0, low=0.03),
            site("BAD", 1000, 30, expected=15.0, flagged=True),
            site("GOOD", 1000, 10, expected=12.0),
        )
    )
    assert words == (
        "Raw rates put Hard Rock yard last (4.1 %, 41/1000), but it is not shown to be "
        "out of line: for its mix of sizes, methods and orientations 3.9 % would be "
        "expected; out of line is BAD (3.0 %, where 1.5 % would be expected)."
    )


def test_worst_raw_rate_of_few_judged() -> None:
    words = plain(
        said(
            site("FEW", 20, 2, expected=0.4, low=0.0279),
            site("MANY", 2000, 40, expected=41),
        )
    )
    # 2/20 with 0.4/20 = 2.0 % expected, which Wilson's 2.8 % leaves out; then 1.2 %.
    assert "Raw rates put FEW last (10.0 %, 2/20)" in words
    assert (
        "can make such a difference by chance; none of these 2 sites is out of line."
        in words
    )
    words = plain(
        said(site("FEW", 20, 2, expected=0.8, low=0.0279), site("MANY", 2000, 40))
    )
    assert (
        "its 20 judged leave anything from 2.8–30.1 % open, and 4.0 % would be expected"
        in words
    )


def test_worst_raw_rate_with_nothing_to_compare() -> None:
    words = plain(
        said(site("ALONE", 50, 10, silent=50), site("A", 500, 10), site("B", 500, 9))
    )
    assert "no other site did the same work, so nothing compares" in words


def test_yardstick_owed_to_one() -> None:
    """A to D lie below 400 + 3 x 20 of 4000 = 11.5 %, and not below 60 of 3000."""
    others = [site(code, 1000, 20) | {"high": 0.031} for code in "ABCD"]
    bad = site("BAD", 1000, 400, expected=20.0, flagged=True)
    # 480 of 5000; without BAD 80 of 4000.
    assert plain(said(bad, *others)) == (
        "4 of 5 sites lie wholly below the others' rate, all of them only because BAD "
        "is among the others: all sites together show 9.6 %, without BAD 2.0 %."
    )


def test_yardstick_that_one_among_many_lifts_a_little() -> None:
    """Without BIG the others show 2.0 % and not 2.2 %: no height owed to anybody."""
    others = [site(code, 1000, 20) | {"high": 0.0215} for code in "ABCD"]
    big = site("BIG", 1000, 30, expected=20.0, flagged=True)
    assert said(big, *others) is None


def test_yardstick_that_stands_without_the_worst() -> None:
    """GOOD is below the two even ones as well, so that nobody's height is at stake."""
    bad = site("BAD", 1000, 400, expected=20.0, flagged=True)
    good = site("GOOD", 1000, 5, expected=20.0) | {"high": 0.012}
    even = [site(code, 1000, 60) | {"high": 0.5} for code in "AB"]
    assert said(bad, good, *even) is None


def test_readings_agree() -> None:
    """The worst is flagged; the best has many judged and no answer missing."""
    assert (
        said(
            site("BAD", 1000, 60, expected=20.0, flagged=True),
            site("GOOD", 1000, 10, expected=30.0),
            site("NONE", 0, 0),
        )
        is None
    )
    # Nor is anything made of a difference of less than half a point.
    assert said(site("A", 1000, 22), site("B", 1000, 20)) is None
    # One site alone.
    assert comparison_counter([site("A", 9, 0)], [site("A", 9, 0)], "site") is None


def test_few_judged_may_be_no_better() -> None:
    """1 of 60 beside 75 of 1500: Wilson's 95 % interval reaches 8.9 %."""
    words = plain(
        said(site("BEST", 60, 1, expected=3.0), site("REST", 1500, 75, expected=75.0))
    )
    assert words.endswith(
        "BEST has the lowest raw rate (1.7 %, 1/60), but 60 judged leave a true "
        "rate of up to 8.9 % open (95 %, interval), above the others' 5.0 %."
    )


def test_what_nobody_else_did_is_no_chance() -> None:
    """9 of 364 as the others, and all of 36 that nobody else set."""
    words = plain(
        said(
            site("ODD", 400, 45, expected=6.6, low=0.08, silent=36, silent_found=36),
            site("A", 1000, 20),
        )
    )
    assert (
        "36 of its 45 are in work that no other site did, where nothing compares; none"
    ) in words


def test_the_last_and_the_first_are_both_said() -> None:
    words = plain(
        said(
            site("LAST", 20, 3, expected=0.6, low=0.05),
            site("FIRST", 60, 0, expected=2.0, missing=200),
            site("REST", 1000, 30),
        )
    )
    assert "Raw rates put LAST last" in words
    assert "FIRST has the lowest raw rate" in words


def test_zero_of_few() -> None:
    words = plain(
        said(
            site("BAD", 1000, 60, expected=20.0, flagged=True),
            site("NEW", 20, 0, expected=0.8),
        )
    )
    # 1 - 0.05^(1/20) = 13.9 % (rule of three: about 15 %).
    assert words == (
        "NEW has the lowest raw rate (0.0 %, 0/20), but 20 judged leave a true "
        "rate of up to 13.9 % open (95 %, one-sided), above the others' 6.0 %."
    )


def test_of_as_low_rates_only_those_that_leave_as_much_open_are_counted() -> None:
    words = plain(
        said(
            site("BAD", 1000, 60, expected=20.0, flagged=True),
            site("NEW", 20, 0, expected=0.8),
            # 1 - 0.05^(1/2000) = 0.15 %: nothing is open there.
            site("OLD", 2000, 0, expected=80.0),
        )
    )
    assert "as have" not in words


def test_zero_of_many_is_what_it_says() -> None:
    # 1 - 0.05^(1/2000) = 0.15 %, below the others' 6 %.
    assert (
        said(
            site("BAD", 1000, 60, expected=20.0, flagged=True),
            site("GOOD", 2000, 0, expected=40.0),
        )
        is None
    )


def test_low_rate_with_much_unrecorded() -> None:
    """10 of 600 judged, 400 unrecorded: 40 % missing, up to 410/1000."""
    words = plain(
        said(
            site("BAD", 1000, 60, expected=20.0, flagged=True),
            site("HALF", 600, 10, expected=20.0, missing=400),
        )
    )
    assert words == (
        "HALF has the lowest raw rate (1.7 %, 10/600), but 40.0 % of its answers are "
        "missing, with which its true rate may be up to 41.0 %, above the others' "
        "6.0 %."
    )


@pytest.mark.parametrize(
    ("before", "after", "is_so"),
    [
        # 10 % of 100 with all answered; 4 % with 40 of 90 missing: up to 42/90.
        (Counts(100, 10, 0), Counts(50, 2, 40), True),
        # As before, but the rate did not fall.
        (Counts(100, 10, 0), Counts(50, 6, 40), False),
        # It fell with hardly fewer answers.
        (Counts(100, 10, 0), Counts(95, 2, 5), False),
        # Even with all missing ones nonconforming it fell: 12/100 below 50 %.
        (Counts(100, 50, 0), Counts(88, 0, 12), False),
        (Counts(0, 0, 10), Counts(50, 2, 40), False),
    ],
)
def test_fell_with_recording(before: Counts, after: Counts, is_so: bool) -> None:
    assert fell_with_recording(before, after) is is_so


def weeks(*halves: tuple[str, int, int, int]) -> pl.DataFrame:
    """Twelve equal weeks a half, older first: crew, judged, nonconforming, missing."""
    rows = [
        {
            "crew": crew,
            "week": f"2027-W{week:02}",
            "judged": judged,
            "nonconforming": found,
            "unrecorded": missing,
            "unreadable": 0,
        }
        for place, (crew, judged, found, missing) in enumerate(halves)
        for week in range(1 + 12 * (place % 2), 13 + 12 * (place % 2))
    ]
    return pl.DataFrame(rows)


def test_trend_that_fell_with_recording() -> None:
    """C1: 12/120 before, now 0/72 with 48 of 120 answers missing; C2 as ever."""
    found = weeks(("C1", 10, 1, 0), ("C1", 6, 0, 4), ("C2", 10, 1, 0), ("C2", 10, 1, 0))
    assert plain(trend_counter(found, "crew", "Crew ")) == (
        "Crew C1's rate fell from 10.0 % (12/120) to 0.0 % (0/72) in the last 12 "
        "weeks, but so did recording: 40.0 % of the answers are missing, after 0.0 %, "
        "and with them the rate may be up to 40.0 %."
    )


def test_trend_that_fell() -> None:
    assert trend_counter(weeks(("C1", 10, 1, 0), ("C1", 10, 0, 0)), "crew") is None
    # One half only: nothing to fall from.
    assert trend_counter(weeks(("C1", 10, 1, 0)), "crew") is None


def holes(size: str, completed_s: float, good_s: float, abandoned: int) -> list[Any]:
    return [size, "hammer", 100, abandoned, good_s, 100 - abandoned, completed_s]


def drilled(*rows: list[Any]) -> str | None:
    names = [
        "anchor_size",
        "drill_method",
        "attempts",
        "abandoned",
        "s_per_good_hole",
        "completed_timed",
        "completed_mean_s",
    ]
    return drilling_counter(pl.DataFrame(rows, names, orient="row"))


def test_drilling_of_completed_holes_alone() -> None:
    """80 holes of 20 s and 20 given up after 10 s: (1600 + 200) / 80 = 22.5 s."""
    words = plain(drilled(holes("M6", 3, 3.1, 12), holes("M12", 20, 22.5, 20)))
    assert (
        "M12 with hammer 20 s a hole, but a good hole takes 22.5 s, 12 % more" in words
    )
    assert "because 20/100 attempts were abandoned" in words
    assert "other size" not in words


def test_drilling_without_a_difference() -> None:
    # 3.1 / 3 is 3 %; nine abandoned are too few to say.
    assert drilled(holes("M6", 3, 3.1, 12), holes("M8", 5, 6, 9)) is None
