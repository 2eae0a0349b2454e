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
from queries.readers.evidence import read_tally_sums
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
    the training is not in the register. `missing`: checks due without an answer.
    """

    crew_code: str
    check_name: str
    on: date
    from_on: date
    to_on: date
    before_judged: int
    before_nonconforming: int
    before_missing: int
    after_judged: int
    after_nonconforming: int
    after_missing: int
    effect: TrainingEffect
    harder: float
    left_out: tuple[str, ...]
    also_on: tuple[date, ...]
    registered_at: datetime | None

    @property
    def worst_after(self) -> float:
        """The rate from the day on, answers missing beyond those before nonconforming.

        As many as before may be missing for the same reasons as before.
        """
        before, after = (
            (self.before_missing, self.before_judged + self.before_missing),
            (self.after_missing, self.after_judged + self.after_missing),
        )
        beyond = max(after[0] - after[1] * before[0] / before[1], 0.0)
        return (self.after_nonconforming + beyond) / (self.after_judged + beyond)

    @property
    def fell(self) -> bool:
        """Whether the rate fell by more than chance and missing answers explain."""
        may_be = self.worst_after - self.after_nonconforming / self.after_judged
        return self.effect.high + may_be < 0


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
    missing = _read_missing(con, crew_code, check_name, whole, on)
    return _effect(days, mix, register, crew_code, check_name, window, missing)


def _read_missing(
    con: duckdb.DuckDBPyConnection,
    crew_code: str,
    check_name: str,
    whole: Selection,
    on: date,
) -> tuple[int, int]:
    """Return how many checks due have no answer, before the day and from it on."""
    of_crew = replace(whole, crew_codes=(crew_code,))
    names = [f"{check_name}_unrecorded", f"{check_name}_unreadable"]
    days = read_tally_sums(con, ["installed_on"], names, of_crew).rows()
    before = sum(sum(counts) for day, *counts in days if day < on)
    return before, sum(sum(counts) for _, *counts in days) - before


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
                missing = _read_missing(
                    con, entry.crew_code, check_name, whole, window.on
                )
                results[entry] = _result(days, mix, register, entry, window, missing)
    return tuple(results[entry] for entry in chosen)


def _result(
    days: pl.DataFrame,
    mix: Mapping[str, tuple[float, float]],
    register: tuple[RegisteredTraining, ...],
    entry: RegisteredTraining,
    window: Window,
    missing: tuple[int, int],
) -> TrainingResult:
    within = days.filter(pl.col("installed_on").is_between(window.first, window.last))
    try:
        found = _effect(
            within, mix, register, entry.crew_code, entry.check_name, window, missing
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
    missing: tuple[int, int],
) -> Trained:
    """Return the effect; `days` are those of the window, `register` of the check.

    `missing`: as of _read_missing.
    """
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
        before_missing=missing[0],
        after_judged=int(counted.judged[crew, 1]),
        after_nonconforming=int(counted.nonconforming[crew, 1]),
        after_missing=missing[1],
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
