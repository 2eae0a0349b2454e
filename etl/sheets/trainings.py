"""Trainings: which crew was taught what, when, and when firmset was told.

What was registered long after the day, perhaps with the figures in sight, must be seen
to have been: `registered_at` is kept beside `trained_on`.
"""

import polars as pl

from etl.sheets.declaration import Row, Sheet, SheetColumn
from etl.sheets.kinds import CODE, DATE, INSTANT, TEXT, Kind, Value
from queries.judgement import CHECK_NAMES


def _topic(cell: str) -> Value:
    """Return a check's name, however it is spaced, or the text as it stands."""
    words = "_".join(cell.lower().replace("-", " ").replace("_", " ").split())
    return words if words in CHECK_NAMES else cell


def _remark(row: Row) -> str | None:
    if row["topic"] in CHECK_NAMES:
        return None
    return f"topic = {row['topic']!r} is no check's name, kept as it stands"


SHEET = Sheet(
    name="trainings",
    table="training",
    content="trainings",
    columns=(
        SheetColumn("crew_code", CODE, what="the crew that was taught"),
        SheetColumn(
            "topic",
            Kind(_topic, "a check's name or a text", pl.String()),
            what="what it was taught: the name of a check, as hole_cleaning, or a text",
        ),
        SheetColumn("trained_on", DATE, what="the day of the training"),
        SheetColumn(
            "registered_at",
            INSTANT,
            may_be_blank=True,
            is_clock_if_blank=True,
            what="when this was written down; blank: when the sheet is loaded",
        ),
        SheetColumn(
            "trainer_code", CODE, may_be_blank=True, what="who taught; a pseudonym"
        ),
        SheetColumn(
            "note", TEXT, may_be_blank=True, what="whatever else should be known"
        ),
    ),
    key=("crew_code", "topic", "trained_on"),
    remark=_remark,
    # The tally has each crew of the logs, in few rows.
    named_in={"crew_code": ("crew", "planned_hole", "tally")},
)
