"""A crew before and after a training, beside the crews that had none."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

import duckdb
import polars as pl

from queries.errors import FirmsetError
from queries.readers.before_after import (
    Window,
    count_before_after,
    read_mix_change,
)
from queries.readers.days import read_judged_days
from queries.readers.trainings import RegisteredTraining, read_trainings
from queries.selection import Selection
from queries.statistics.training import TrainingEffect, training_effect

WEEKS = 12


@dataclass(frozen=True)
class Trained:
    """The plain counts of the crew beside the effect; dates are both included.

    `left_out`: crews that the register says were trained on the same check within
    these weeks, and so tell nothing of what comes without training. `also_on`: the
    crew's own other trainings within them. `harder`: how many times harder the crew's
    mix of work is from the day on, which is allowed for. `registered_at`: None where
    the training is not in the register.
    """

    crew_code: str
    check_name: str
    on: date
    from_on: date
    to_on: date
    before_judged: int
    before_nonconforming: int
    after_judged: int
    after_nonconforming: int
    effect: TrainingEffect
    harder: float
    left_out: tuple[str, ...]
    also_on: tuple[date, ...]
    registered_at: datetime | None


@dataclass(frozen=True)
class TrainingResult:
    """A registered training with what came of it, or why nothing can be said."""

    training: RegisteredTraining
    found: Trained | None
    problem: str


def read_training_effect(
    con: duckdb.DuckDBPyConnection,
    crew_code: str,
    check_name: str,
    on: date,
    selection: Selection,
    weeks: int = WEEKS,
) -> Trained:
    """Return what a training of one crew on one day did to one check.

    Compared are so many weeks before the day and from it on; every other crew of the
    selection counts as not trained unless the register says otherwise. Bad days are
    allowed for: counts are divided by the inflation that the likeness of a day's
    anchors gives. Raises FirmsetError where too little is judged to say anything.
    """
    window = Window(on, weeks)
    register = read_trainings(con, Selection(check_names=(check_name,)))
    whole = replace(selection, crew_codes=(), from_on=window.first, to_on=window.last)
    days = read_judged_days(con, check_name, whole, "crew")
    mix = read_mix_change(con, check_name, whole, on)
    return _effect(days, mix, register, crew_code, check_name, window)


def read_training_results(
    con: duckdb.DuckDBPyConnection, selection: Selection, weeks: int = WEEKS
) -> tuple[TrainingResult, ...]:
    """Return every registered training of the selection, newest first, with its effect.

    The selection's dates and crews choose trainings; the counts are those of its sites
    and sizes, of all crews.
    """
    chosen = read_trainings(con, selection)
    always = replace(selection, crew_codes=(), from_on=None, to_on=None)
    results = {}
    for check_name in dict.fromkeys(entry.check_name for entry in chosen):
        register = read_trainings(con, Selection(check_names=(check_name,)))
        days = read_judged_days(con, check_name, always, "crew")
        for entry in chosen:
            if entry.check_name == check_name:
                window = Window(entry.trained_on, weeks)
                whole = replace(always, from_on=window.first, to_on=window.last)
                mix = read_mix_change(con, check_name, whole, window.on)
                results[entry] = _result(days, mix, register, entry, window)
    return tuple(results[entry] for entry in chosen)


def _result(
    days: pl.DataFrame,
    mix: Mapping[str, tuple[float, float]],
    register: tuple[RegisteredTraining, ...],
    entry: RegisteredTraining,
    window: Window,
) -> TrainingResult:
    within = days.filter(pl.col("installed_on").is_between(window.first, window.last))
    try:
        found = _effect(
            within, mix, register, entry.crew_code, entry.check_name, window
        )
    except FirmsetError as error:
        return TrainingResult(entry, None, str(error))
    return TrainingResult(entry, found, "")


def _spoken(check_name: str) -> str:
    return check_name.replace("_", " ")


def _effect(
    days: pl.DataFrame,
    mix: Mapping[str, tuple[float, float]],
    register: tuple[RegisteredTraining, ...],
    crew_code: str,
    check_name: str,
    window: Window,
) -> Trained:
    """Return the effect; `days` are those of the window, `register` of the check."""
    if crew_code not in days["group_name"]:
        raise FirmsetError(
            f"crew {crew_code}: no {_spoken(check_name)} is judged from {window.first} "
            f"to {window.last}"
        )
    worked = set(days["group_name"])
    left_out = sorted((window.trained(register) - {crew_code}) & worked)
    counted = count_before_after(
        days.filter(~pl.col("group_name").is_in(left_out)), window.on, mix
    )
    crew = counted.crews.index(crew_code)
    try:
        effect = training_effect(counted.counts, crew)
    except ValueError as error:
        raise FirmsetError(
            f"{_spoken(check_name)}, crew {crew_code}, {window.first} to "
            f"{window.last}: {error}"
        ) from error
    own = [entry for entry in register if entry.crew_code == crew_code]
    return Trained(
        crew_code=crew_code,
        check_name=check_name,
        on=window.on,
        from_on=window.first,
        to_on=window.last,
        before_judged=int(counted.judged[crew, 0]),
        before_nonconforming=int(counted.nonconforming[crew, 0]),
        after_judged=int(counted.judged[crew, 1]),
        after_nonconforming=int(counted.nonconforming[crew, 1]),
        effect=effect,
        harder=float(counted.harder[crew]),
        left_out=tuple(left_out),
        also_on=tuple(
            entry.trained_on
            for entry in own
            if window.first <= entry.trained_on <= window.last
            and entry.trained_on != window.on
        ),
        registered_at=next(
            (entry.registered_at for entry in own if entry.trained_on == window.on),
            None,
        ),
    )
