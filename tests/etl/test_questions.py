"""Questions about a file's values: asked where planted, silent where nothing is wrong.

Planted data: normal scatter around the required value, with seeds. Tolerances of rates
are the exact 95 % interval of the simulation's own count (Clopper and Pearson 1934).
"""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from etl.clusters import PROBES, Counts, is_cluster
from etl.receipt import Receipt
from tests.builders import Row, build_store, load, write_log
from tests.etl.cell_files import load_cells

TORQUE_NM = 55.0  # of the tests' setting data
FOOT_POUND_NM = 1.3558179483314004  # NIST SP 811
POINT = 1 / FOOT_POUND_NM


def receipt(folder: Path, rows: Sequence[Row]) -> Receipt:
    return load(build_store(folder), write_log(folder, rows)).receipts[0]


def torques(
    rng: np.random.Generator, count: int, ratio: float, spread: float
) -> list[str]:
    """Return torques around `ratio` of the required one, as typed: to a tenth."""
    drawn = TORQUE_NM * ratio * (1 + spread * rng.standard_normal(count))
    return [f"{torque:.1f}" for torque in drawn]


def rows_of(crew: str, typed: Sequence[str], column: str) -> list[Row]:
    return [{"crew_code": crew, column: text} for text in typed]


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (POINT, "at 0.74 of the setting torque, as if ft·lbf had been typed as Nm"),
        (
            FOOT_POUND_NM,
            "at 1.36 times the setting torque, as if Nm had been typed as ft·lbf",
        ),
    ],
)
def test_torques_in_another_unit(tmp_path: Path, ratio: float, words: str) -> None:
    rng = np.random.default_rng(7)
    typed = torques(rng, 60, ratio, 0.03)
    near = sum(abs(float(text) / TORQUE_NM / ratio - 1) <= 0.04 for text in typed)
    of_crew = rows_of("C3", typed, "setting_torque_nm")
    clean = rows_of("C1", torques(rng, 90, 1, 0.03), "setting_torque_nm")
    ending = ": a question about units for the site; nothing was changed"
    assert receipt(tmp_path / "all", of_crew).remarks == [
        f"{near} of 60 setting torques lie {words}{ending}"
    ]
    assert receipt(tmp_path / "one", [*clean, *of_crew]).remarks == [
        f"{near} of 60 setting torques of crew C3 lie {words}{ending}"
    ]


# The factors are the definitions of the centimetre and the inch.
@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (0.1, "at 0.1 of the required depth, as if cm had been typed as mm"),
        (10.0, "at 10 times the required depth, as if mm had been typed as cm"),
        (1 / 25.4, "at 0.04 of the required depth, as if in had been typed as mm"),
        (25.4, "at 25.4 times the required depth, as if mm had been typed as in"),
    ],
)
def test_depths_in_another_unit(tmp_path: Path, factor: float, words: str) -> None:
    rng = np.random.default_rng(8)
    # Holes of 90 mm and up to a tenth more.
    typed = [f"{depth * factor:.2f}" for depth in 90 * (1 + 0.1 * rng.random(40))]
    [remark] = receipt(tmp_path, rows_of("C1", typed, "hole_depth_mm")).remarks
    assert remark.startswith(f"40 of 40 hole depths lie {words}")


# 1 kgf·m is 9.80665 Nm (NIST SP 811): 55 Nm were typed as 5.6.
@pytest.mark.parametrize(
    ("column", "text", "clean", "words"),
    [
        ("hole_depth_mm", "9.2", "92", "at 0.1 of the required depth, as if cm had"),
        (
            *("setting_torque_nm", "5.6", "55"),
            "at 0.1 of the setting torque, as if kgf·m or daN·m had been typed as Nm",
        ),
        (
            *("setting_torque_nm", "550", "55"),
            "at 9.9 times the setting torque, as if Nm had been typed as kgf·m or",
        ),
    ],
)
def test_a_few_values_far_off_are_asked_about(
    tmp_path: Path, column: str, text: str, clean: str, words: str
) -> None:
    many = rows_of("C1", [clean] * 60, column)
    [remark] = receipt(
        tmp_path / "three", [*many, *rows_of("C2", [text] * 3, column)]
    ).remarks
    assert remark.startswith("3 of 3 ") and f" of crew C2 lie {words}" in remark
    two = [*many, *rows_of("C2", [text] * 2, column)]
    assert receipt(tmp_path / "two", two).remarks == []
    # However few rows the file has.
    alone = rows_of("C2", [text] * 3, column)
    [remark] = receipt(tmp_path / "alone", alone).remarks
    assert words in remark


def test_a_clean_file_raises_no_question(tmp_path: Path) -> None:
    rng = np.random.default_rng(9)
    rows = [
        row | {"installed_on": f"2026-05-{1 + day % 28:02d}"}
        for day, row in enumerate(
            rows_of("C1", torques(rng, 300, 1, 0.08), "setting_torque_nm")
        )
    ]
    assert receipt(tmp_path, rows).remarks == []


def alarms(seed: int, runs: int, count: int, ratio: float, spread: float) -> int:
    """Return how many of `runs` crews raise the question, each of `count` torques."""
    drawn = ratio * (
        1 + spread * np.random.default_rng(seed).standard_normal((runs, count))
    )
    probe = PROBES[0]
    centres = [1.0, *(cluster.ratio for cluster in probe.clusters)]
    near = [
        (np.abs(drawn / centre - 1) <= probe.tolerance).sum(axis=1)
        for centre in centres
    ]
    return sum(
        any(is_cluster(count, at_one, number) for number in numbers)
        for at_one, *numbers in zip(*near, strict=True)
    )


# The promise: under one in a million whatever the spread; 100,000 crews can show that
# it is under 1 in 27,000 (none found: upper limit 3.7e-5), at usual and worst spreads.
@pytest.mark.parametrize("spread", [0.08, 0.2624, 0.3558])
@pytest.mark.parametrize("count", [20, 30])
def test_clean_crews_raise_no_question(spread: float, count: int) -> None:
    found = alarms(11, 100_000, count, 1, spread)
    upper = stats.binomtest(found, 100_000).proportion_ci(method="exact").high
    assert upper < 4e-5


# Binomial arithmetic beside the simulation: the worst normal spread puts 5.4 % and
# 7.4 % into the two bands; ten of 20 then come up less than once in a million.
def test_the_false_alarms_by_arithmetic() -> None:
    spreads = np.linspace(0.01, 2, 4000)
    for ratio, most in ((POINT, 0.055), (FOOT_POUND_NM, 0.075)):
        inside = stats.norm.cdf((1.04 * ratio - 1) / spreads) - stats.norm.cdf(
            (0.96 * ratio - 1) / spreads
        )
        assert inside.max() < most
        for count in (20, 21, 40, 100):
            needed = -(-count // 2)
            assert stats.binom.sf(needed - 1, count, inside.max()) < 1e-6


# Crews that truly set at three quarters with a spread of 8 %: 37 % lie in the band by
# the normal distribution, so that half of 60 seldom do: binomial tail 2.6 %.
def test_a_truly_under_torqued_crew_is_mostly_not_asked_about_units() -> None:
    spread = 0.08
    inside = stats.norm.cdf((1.04 * POINT / 0.75 - 1) / spread) - stats.norm.cdf(
        (0.96 * POINT / 0.75 - 1) / spread
    )
    expected = stats.binom.sf(29, 60, inside)
    assert expected < 0.05
    found = alarms(12, 20_000, 60, 0.75, spread)
    limits = stats.binomtest(found, 20_000).proportion_ci(0.999, method="exact")
    assert limits.low <= expected <= limits.high


def test_the_rule_itself() -> None:
    assert is_cluster(total=20, at_one=0, near=10)
    assert not is_cluster(total=19, at_one=0, near=19)
    assert not is_cluster(total=20, at_one=0, near=9)
    assert not is_cluster(total=20, at_one=10, near=10)
    assert Counts(2, 1, (1, 0)) + Counts(3, 0, (0, 2)) == Counts(5, 1, (1, 2))


@pytest.mark.parametrize(("contrary", "is_asked"), [(1, False), (2, True)])
def test_dates_that_contradict_the_map(
    tmp_path: Path, contrary: int, is_asked: bool
) -> None:
    # 1 of 50 is two per cent, 2 are four.
    cells = ["04/13/2026"] * contrary + ["13/04/2026"] * (50 - contrary)
    loaded = load_cells(
        tmp_path,
        [{"installed_on": cell} for cell in cells],
        columns={"installed_on": None},
        dates="day_first = true",
    )
    words = (
        "day_first = true is contradicted by 2 of 50 dates, rejected: a question "
        "whether the site map is wrong"
    )
    assert loaded.receipt.remarks == ([words] if is_asked else [])


def test_dates_with_two_readings(tmp_path: Path) -> None:
    loaded = load_cells(
        tmp_path,
        [{"installed_on": cell} for cell in ("03/04/2026", "13/04/2026")],
        columns={"installed_on": None},
    )
    [remark] = loaded.receipt.remarks
    assert remark == (
        "two readings of 1 of 2 dates, rejected: the site map must say "
        "[dates] day_first = true or false"
    )


@pytest.mark.parametrize(
    ("others", "is_asked"),
    [
        (["2026-05-18"], True),
        (["2026-05-17"], False),  # 13 days: a fortnight is needed
        ([f"2026-06-{day:02d}" for day in range(1, 31)], True),  # 30 of 60: half
        (["2026-05-31"] + [f"2026-06-{day:02d}" for day in range(1, 31)], False),
    ],
)
def test_rows_of_one_single_day(
    tmp_path: Path, others: list[str], is_asked: bool
) -> None:
    rows = [{"installed_on": day} for day in ["2026-05-04"] * 30 + others]
    words = (
        f"30 of {len(rows)} rows are dated 2026-05-04 in a file from 2026-05-04 to "
        f"{others[-1]}, as if the day of typing had been logged: a question about "
        "dates for the site; nothing was changed"
    )
    assert receipt(tmp_path, rows).remarks == ([words] if is_asked else [])


@pytest.mark.parametrize(("last", "is_asked"), [("00:00", True), ("07:00", False)])
def test_times_all_at_midnight(tmp_path: Path, last: str, is_asked: bool) -> None:
    cells = ["2026-05-04 00:00"] * 19 + [f"2026-05-05 {last}"]
    loaded = load_cells(
        tmp_path,
        [{"installed_at": cell} for cell in cells],
        columns={"installed_at": None},
    )
    words = (
        "all 20 times are midnight, as if only dates had been logged: a question about "
        "times for the site; nothing was changed"
    )
    assert loaded.receipt.remarks == ([words] if is_asked else [])
