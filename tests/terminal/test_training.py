"""`firmset training --crew --on`: what one training did, and what refuses it."""

import json
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import pytest

from dashboard.command import main
from queries.store import Store
from tests.builders import Row, build_store


def run(store: Store, *options: str) -> int:
    return main(["training", *options, "--store", str(store.folder)])


@pytest.fixture
def taught(tmp_path: Path) -> Store:
    """Crew A: 8 of 40 a week before its training, 1 of 40 after; three others 4."""
    return taught_store(tmp_path, before=8, after=1)


def taught_store(tmp_path: Path, before: int, after: int) -> Store:
    monday = date(2026, 1, 19)
    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": (monday + timedelta(weeks=week, days=number % 5)),
            "setting_torque_nm": "75" if number < bad else "55",
        }
        for week in range(-6, 6)
        for crew, bad in (
            ("A", before if week < 0 else after),
            *((other, 4) for other in ("B", "C", "D")),
        )
        for number in range(40)
    ]
    return build_store(tmp_path, rows)


def test_training_json(taught: Store, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--check", "setting_torque", "--crew", "A", "--on", "2026-01-19"]
    assert run(taught, *options, "--weeks", "4", "--format", "json") == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["before_nonconforming"], found["before_judged"]) == (32, 160)
    assert (found["after_nonconforming"], found["after_judged"]) == (4, 160)
    assert (found["from_on"], found["to_on"]) == ("2025-12-22", "2026-02-15")
    # The others did not change.
    assert found["trend"] == pytest.approx(1.0)
    assert found["high"] < 0
    assert (found["placebos"], found["placebo_share"]) == (3, 0.0)


def test_training_says_whether_it_worked(
    taught: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    options = ["--check", "setting_torque", "--on", "2026-01-19"]
    run(taught, *options, "--crew", "A")
    assert "The rate fell by more than chance explains." in capsys.readouterr().out
    run(taught, *options, "--crew", "B")
    said = capsys.readouterr().out
    assert "No effect can be told from chance, which is not proof of none" in said


def test_after_a_rise_the_others_did_not_fall_as_far(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The three others stayed as they were, which is better than a rise."""
    store = taught_store(tmp_path, before=1, after=8)
    run(
        store,
        "--check",
        "setting_torque",
        "--on",
        "2026-01-19",
        "--crew",
        "A",
    )
    said = capsys.readouterr().out
    assert "The rate rose by more than chance explains." in said
    assert "Of 3 crews without this training 3 did as well or better" in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--crew", "A,B", "--on", "2026-01-19"], "expected one crew"),
        (["--on", "2026-01-19"], "expected one crew"),
        (["--crew", "A", "--on", "2030-01-19"], "no setting torque is judged from"),
        (["--crew", "A", "--on", "2026-03-02"], "is judged after the day"),
        (
            ["--crew", "A", "--on", "2026-01-19", "--from", "2026-01-01"],
            "expected --on and --weeks",
        ),
    ],
)
def test_training_refuses_in_one_line(
    taught: Store,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    words: str,
) -> None:
    assert run(taught, "--check", "setting_torque", *options) == 2
    error = capsys.readouterr().err
    assert words in error
    assert error.count("\n") == 1


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        # From the day on all that would be bad, 8 of 40 a week, have no answer.
        (
            (),
            range(8),
            (
                "What was recorded fell by more than chance explains, but 48/240 "
                "answers are missing from the day on, 0/240 before it: were those "
                "beyond nonconforming, the rate would be 20.0 %, no clear fall."
            ),
        ),
        # One a week has none: at the worst 6 of 240.
        ((), range(1), "The rate fell by more than chance explains."),
        # As many as before: no reason to doubt more than before.
        (range(30, 40), range(30, 40), "The rate fell by more than chance explains."),
    ],
)
def test_a_fall_that_missing_answers_may_be_is_not_said_to_be_one(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    before: Sequence[int],
    after: Sequence[int],
    words: str,
) -> None:
    monday = date(2026, 1, 19)

    def torque(crew: str, week: int, number: int) -> str:
        is_after = week >= 0
        if crew == "A" and number in (after if is_after else before):
            return ""
        return "75" if number < 8 and not (crew == "A" and is_after) else "55"

    rows: list[Row] = [
        {
            "crew_code": crew,
            "installed_on": monday + timedelta(weeks=week, days=number % 5),
            "setting_torque_nm": torque(crew, week, number),
        }
        for week in range(-6, 6)
        for crew in "ABCD"
        for number in range(40)
    ]
    store = build_store(tmp_path, rows)
    options = ["--check", "setting_torque", "--crew", "A", "--on", "2026-01-19"]
    assert run(store, *options, "--weeks", "6") == 0
    assert words in capsys.readouterr().out.replace("\xa0", " ")
    assert run(store, *options, "--weeks", "6", "--format", "json") == 0
    found = json.loads(capsys.readouterr().out)
    # Six weeks of each half.
    missing = (found["before_missing"], found["after_missing"])
    assert missing == (6 * len(before), 6 * len(after))
