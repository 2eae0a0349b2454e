"""Baselines: recorded, never changed, and used by the trend they belong to."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from scipy.stats import hypergeom

from dashboard.command import main
from queries.readers.trend import read_limits
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_log

MONDAY = date(2025, 9, 1)


def weeks(bad: list[int], crew: str = "A") -> list[Row]:
    return [
        {
            "crew_code": crew,
            "installed_on": (MONDAY + timedelta(weeks=week, days=number % 5)),
            "setting_torque_nm": "75" if number < count else "55",
        }
        for week, count in enumerate(bad)
        for number in range(20)
    ]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    """Crew A: ten weeks of 4 of 20, then ten of 2 of 20; crew B: always 5."""
    rows = weeks([4] * 10 + [2] * 10) + weeks([5] * 20, "B")
    return build_store(tmp_path, rows)


def run(store: Store, *arguments: str) -> int:
    return main([*arguments, "--store", str(store.folder)])


SET = [
    *("baseline", "set", "--check", "setting_torque", "--crew", "A"),
    *("--from", "2025-11-10", "--author", "Ada"),
]
LATER = [*SET, "--to", "2026-01-18", "--reason", "taught again in November"]


def trend_of(
    store: Store, capsys: pytest.CaptureFixture[str], *options: str
) -> dict[str, object]:
    capsys.readouterr()
    run(store, "trend", "--check", "setting_torque", *options, "--format", "json")
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_a_recorded_baseline_is_used_by_its_stream_alone(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    before = trend_of(store, capsys, "--crew", "A")
    assert before["centre"] == pytest.approx((10 * 4 + 2 * 2) / 240)
    assert run(store, *LATER) == 0
    assert "20/200 nonconforming; edition 2 published" in capsys.readouterr().out
    after = trend_of(store, capsys, "--crew", "A")
    assert after["centre"] == pytest.approx(0.1)
    assert "set by Ada on" in str(after["baseline"])
    assert "taught again in November" in str(after["baseline"])
    # Another crew, another period and all crews together keep theirs.
    assert trend_of(store, capsys, "--crew", "B")["centre"] == pytest.approx(0.25)
    both = trend_of(store, capsys)
    assert "default" in str(both["baseline"])
    month = trend_of(store, capsys, "--crew", "A", "--by", "month")
    assert "default" in str(month["baseline"])


def test_the_pages_limits_follow_it(store: Store) -> None:
    run(store, *LATER)
    with store.reader() as con:
        limits = read_limits(con, Selection(check_names=("setting_torque",)), "crew")
    [upper] = limits.filter(crew="A")["upper"].unique().to_list()
    # 10 % of 20: 0.1 + 3 sqrt(0.09 / 20).
    assert upper == pytest.approx(0.1 + 3 * (0.09 / 20) ** 0.5)


def test_the_newest_counts_and_the_older_stays(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    run(store, *LATER)
    run(store, *SET, "--to", "2025-12-14", "--reason", "five weeks are enough")
    capsys.readouterr()
    run(store, "baseline", "list", "--format", "json")
    newest, older = json.loads(capsys.readouterr().out)
    assert (newest["baseline_id"], newest["is_current"]) == (2, True)
    assert (older["reason"], older["is_current"]) == (
        "taught again in November",
        False,
    )
    found = trend_of(store, capsys, "--crew", "A")
    assert "five weeks are enough" in str(found["baseline"])


def test_a_later_load_keeps_it(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(store, *LATER)
    load(store, write_log(tmp_path / "more", [{}], site="SITE-2"))
    found = trend_of(store, capsys, "--crew", "A")
    assert found["centre"] == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--reason", "x"], "expected --from DATE and --to DATE"),
        (["--to", "2026-01-18", "--reason", " "], "--reason: expected words"),
        (["--to", "2025-11-01", "--reason", "x"], "lies after --to"),
    ],
)
def test_what_cannot_be_recorded_is_refused(
    store: Store, capsys: pytest.CaptureFixture[str], options: list[str], words: str
) -> None:
    assert run(store, *SET, *options) == 2
    assert words in capsys.readouterr().err
    assert store.current_edition_id() == 1


def test_a_baseline_without_anything_judged_is_refused(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    far = ["--from", "2030-01-01", "--to", "2030-02-01"]
    words = ["--author", "Ada", "--reason", "x"]
    check = ["--check", "setting_torque"]
    assert run(store, "baseline", "set", *check, *far, *words) == 2
    assert "no week in it has anything judged" in capsys.readouterr().err


# 50 of 200 after 20 of 200 or 40 of 200: Fisher's mid-p by scipy below and above 5 %.
@pytest.mark.parametrize(("first", "is_warned"), [([2] * 10, True), ([4] * 10, False)])
def test_a_baseline_that_hides_a_worsening_is_warned_of(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    first: list[int],
    is_warned: bool,
) -> None:
    store = build_store(tmp_path, weeks(first + [5] * 10))
    early = [*SET[:-4], "--from", "2025-09-01", "--to", "2025-11-09"]
    who = ["--author", "Ada", "--reason", "the start"]
    assert run(store, *early, *who) == 0
    assert "careful" not in capsys.readouterr().out
    assert run(store, *LATER) == 0
    said = capsys.readouterr().out
    assert ("careful: it is worse than the baseline before" in said) == is_warned
    x, n = sum(first), 200
    chance = hypergeom(2 * n, x + 50, n)
    mid_p = 2 * (chance.sf(50) + chance.pmf(50) / 2)
    assert (mid_p <= 0.05) == is_warned
    if is_warned:
        assert f"with 20/200 (mid-p {mid_p:.2g})" in said
        assert run(store, *early, *who) == 0
        assert "careful" not in capsys.readouterr().out
