"""Registered trainings with their effects as rows, for files and tables: pure."""

from dataclasses import asdict, fields
from typing import Any

from dashboard.training_words import training_words
from queries.readers.training import Trained, TrainingResult
from queries.statistics.training import TrainingEffect

COUNTS = tuple(field.name for field in fields(Trained) if field.name != "effect")
COLUMNS = (
    *COUNTS,
    *(field.name for field in fields(TrainingEffect)),
    "problem",
    "sentence",
)


def result_row(result: TrainingResult) -> dict[str, Any]:
    """Return COLUMNS of one training; what cannot be said is None, with the problem."""
    entry = result.training
    row: dict[str, Any] = dict.fromkeys(COLUMNS)
    row |= {
        "crew_code": entry.crew_code,
        "check_name": entry.check_name,
        "on": entry.trained_on,
        "registered_at": entry.registered_at,
        "problem": result.problem,
        "sentence": result.problem,
    }
    if result.found is not None:
        values = asdict(result.found)
        row |= values.pop("effect")
        row |= values
        row["sentence"] = " ".join(training_words(result.found))
    return row
