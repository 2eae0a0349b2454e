"""Registered trainings: who counts as untrained, placebos, and whom to train next."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from dashboard.training_rows import COLUMNS, result_row
from dashboard.training_words import (
    next_words,
    placebo_words,
    register_words,
    training_words,
)
from queries.errors import FirmsetError
from queries.readers.next_trainings import read_next_trainings
from queries.readers.placebo import read_placebo
from queries.readers.training import (
    TrainingResult,
    read_training_effect,
    read_training_results,
)
from queries.selection import Selection
from queries.store import Store
from tests.builders import Row, build_store, load, write_csv

MONDAY = date(2026, 1, 19)
TRAININGS: list[Row] = [
    {"crew_code": "A", "topic": "setting torque", "trained_on": MONDAY},
    {
        "crew_code": "B",
        "topic": "setting_torque",
        "trained_on": MONDAY + timedelta(weeks=1),
        # Long after the day, perhaps with the figures in sight.
        "registered_at": "2026-04-15T12:00Z",
    },
    # Of another check, and of no check at all: both crews stay untrained in torque.
    {"crew_code": "C", "topic": "hole_cleaning", "trained_on": MONDAY},
    {"crew_code": "D", "topic": "first aid", "trained_on": MONDAY},
    # Nothing of it is judged after its day.
    {"crew_code": "E", "topic": "setting_torque", "trained_on": "2026-05-25"},
]


def weekly(crew: str, before: int, after: int) -> list[Row]:
    """Return 20 anchors a week for 24 weeks, so many of them over the band."""
    return [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(weeks=week, days=number % 5),
            "setting_torque_nm": "75" if number < (before, after)[week >= 0] else "55",
        }
        for week in range(-12, 12)
        for number in range(20)
    ]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A and B fall from 8 to 1 of 20 a week, both trained; C to F stay at 2."""
    folder: Path = tmp_path_factory.mktemp("trainings")
    rows = [*weekly("A", 8, 1), *weekly("B", 8, 1)]
    for crew in "CDEF":
        rows += weekly(crew, 2, 2)
    store = build_store(folder, rows)
    now = datetime(2026, 6, 1, 12, tzinfo=UTC)
    result = load(store, write_csv(folder / "trainings.csv", TRAININGS), now=now)
    assert not result.failures
    return store


def results(store: Store, selection: Selection | None = None) -> list[TrainingResult]:
    with store.reader() as con:
        return list(read_training_results(con, selection or Selection()))


def test_every_training_on_a_check_newest_first(store: Store) -> None:
    found = [
        (each.training.crew_code, each.training.check_name) for each in results(store)
    ]
    assert found == [
        ("E", "setting_torque"),
        ("B", "setting_torque"),
        ("A", "setting_torque"),
        ("C", "hole_cleaning"),
    ]
    dated = Selection(from_on=MONDAY, to_on=MONDAY, check_names=("setting_torque",))
    assert [each.training.crew_code for each in results(store, dated)] == ["A"]


# Both fell together. Counted as untrained, B would pull the expectation down: by hand
# (8 x 12 + 4 x 24) before, (1 x 12 + 4 x 24) after.
def test_a_crew_trained_meanwhile_is_not_untrained(store: Store) -> None:
    only_a = Selection(crew_codes=("A",))
    [found] = [each.found for each in results(store, only_a)]
    assert found is not None
    assert found.left_out == ("B",)
    assert found.effect.trend == pytest.approx(1.0)
    assert found.effect.placebos == 4
    assert (found.before_nonconforming, found.before_judged) == (96, 240)
    assert (found.after_nonconforming, found.after_judged) == (12, 240)
    assert found.effect.high < 0


def test_the_register_counts_for_a_training_that_is_not_in_it(store: Store) -> None:
    with store.reader() as con:
        torque = read_training_effect(con, "F", "setting_torque", MONDAY, Selection())
        own = read_training_effect(
            con, "A", "setting_torque", MONDAY + timedelta(weeks=2), Selection()
        )
    assert torque.left_out == ("A", "B")
    assert torque.registered_at is None
    assert own.also_on == (MONDAY,)


def test_words_and_rows_of_the_register(store: Store) -> None:
    rows = [result_row(each) for each in results(store)]
    assert all(tuple(row) == COLUMNS for row in rows)
    no_effect, late, plain, _ = (str(row["sentence"]) for row in rows)
    assert "nothing of the crew is judged after the day" in no_effect
    assert rows[0]["expected"] is None
    # 26 January to 15 April.
    assert "registered on 2026-04-15, 79 days later" in late
    assert "Not compared with B: trained on the same" in plain
    assert "The rate fell by more than chance explains." in plain
    said = " ".join(register_words(results(store)))
    # A and B of the three of which something can be said: 3 x 2.5 %.
    assert "4 registered trainings: after 2 the rate fell" in said
    assert "0.1 would seem so" in said
    # Of one, 1 x 2.5 %, which 0.0 would deny.
    own = next(each for each in results(store) if each.found)
    assert "fewer than 0.1 would seem so" in register_words([own])[0]
    assert "No training on a check" in register_words([])[0]


def test_placebos_are_the_untrained(store: Store) -> None:
    with store.reader() as con:
        found = read_placebo(con, "setting_torque", Selection(), weeks=8)
        with pytest.raises(FirmsetError, match="less than 26 weeks"):
            read_placebo(con, "setting_torque", Selection(), weeks=13)
    # 24 weeks from 27 October: 8 before and 8 after fit once at 22 December, once
    # more at 16 February. A and B were trained within both windows, E in neither.
    assert found.on == (date(2025, 12, 22), date(2026, 2, 16))
    assert (found.test.tried, found.test.fell, found.test.rose) == (8, 0, 0)
    assert "8 placebos" in placebo_words(found)[0]


def test_a_change_without_training_is_a_false_claim(store: Store) -> None:
    # Nobody is registered for embedment: A's packing grows on a day like any other.
    rows = [
        {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(weeks=week, days=number % 5),
            "packing_mm": "9" if number < (9 if crew == "A" and week < 0 else 1) else 0,
        }
        for crew in "ABCD"
        for week in range(-12, 12)
        for number in range(15)
    ]
    other = build_store(store.folder.parent / "other", rows)
    with other.reader() as con:
        found = read_placebo(con, "embedment", Selection(), weeks=12)
    assert found.on == (MONDAY,)
    # A fell, and its fall among three others makes these seem to rise.
    assert (found.test.tried, found.test.fell) == (4, 1)
    assert "(1 fell, 3 rose): 100.0" in placebo_words(found)[1]


def test_the_next_trainings_in_two_waves(store: Store) -> None:
    torque = Selection(check_names=("setting_torque",), to_on=MONDAY)
    with store.reader() as con:
        found = read_next_trainings(con, torque, 2)
    first, second = found.plan.to_dicts()
    # A and B are alike: one is trained on the Monday after, the other waits.
    assert (first["crew"], first["wave"], first["from_on"]) == (
        "A",
        1,
        MONDAY + timedelta(weeks=1),
    )
    assert (second["crew"], second["wave"]) == ("B", 2)
    assert found.weeks_between == max(first["weeks_to_see"], 2)
    assert second["from_on"] == first["from_on"] + timedelta(weeks=found.weeks_between)
    said = next_words(found)
    assert said[0].startswith("Wave 1, from 2026-01-26: crew A, setting torque")
    assert f"waits {found.weeks_between} weeks" in said[2]


def test_nobody_to_train_next(store: Store) -> None:
    none = Selection(from_on=date(2030, 1, 1))
    with store.reader() as con:
        found = read_next_trainings(con, none, 3)
    assert found.plan.is_empty()
    assert next_words(found) == [
        "No crew has anything to gain that could be told from chance."
    ]


# By hand: a tenth is loose in easy work and half in hard work, for everybody and
# always. The crew that is trained did 18 hard ones a week of 20, and 2 from then on:
# that alone takes its rate from 46 % to 14 %.
def test_easier_work_is_no_effect_of_a_training(tmp_path: Path) -> None:
    def anchor(crew: str, week: int, number: int, *, is_hard: bool) -> Row:
        is_loose = (
            (week + number) % 2 == 0 if is_hard else (3 * week + number) % 10 == 0
        )
        return {
            "crew_code": crew,
            "installed_on": MONDAY + timedelta(weeks=week, days=number % 5),
            "setting_code": "Z-M10-60" if is_hard else "M12-68",
            "setting_torque_nm": "75" if is_loose else "55",
        }

    def worked(crew: str, before: int, after: int) -> list[Row]:
        return [
            anchor(crew, week, number, is_hard=number < (before, after)[week >= 0])
            for week in range(-12, 12)
            for number in range(20)
        ]

    m10: Row = {"setting_code": "Z-M10-60", "anchor_size": "M10"}
    rows = worked("A", 18, 2) + [row for crew in "CDEF" for row in worked(crew, 10, 10)]
    store = build_store(tmp_path, rows, settings=[{}, m10])
    with store.reader() as con:
        found = read_training_effect(con, "A", "setting_torque", MONDAY, Selection())
    # (18 x 2/20 + 2 x 10/20) / (2 x 2/20 + 18 x 10/20) at the others' rates.
    assert found.harder == pytest.approx(2.8 / 9.2, rel=0.1)
    assert found.effect.low < 0 < found.effect.high
    said = " ".join(training_words(found))
    assert "and for the work done after, which is 0.3" in said
    assert "The rate fell by more than chance explains." not in said
