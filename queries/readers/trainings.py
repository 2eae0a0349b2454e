"""The register of trainings: which crew was taught which check, and when."""

from dataclasses import dataclass
from datetime import date, datetime

import duckdb

from queries.judgement import CHECK_NAMES
from queries.selection import Selection


@dataclass(frozen=True)
class RegisteredTraining:
    """A training whose topic is a check; `registered_at` is a UTC instant."""

    crew_code: str
    check_name: str
    trained_on: date
    registered_at: datetime


def read_trainings(
    con: duckdb.DuckDBPyConnection, selection: Selection | None = None
) -> tuple[RegisteredTraining, ...]:
    """Return the trainings of the selection's days, crews and checks, newest first.

    A training whose topic is not a check has no rate to be held against and is not
    among them. Sites and sizes of the selection choose nothing here.
    """
    chosen = selection or Selection()
    rows = con.execute(
        """
        select crew_code, topic, trained_on, registered_at
        from training
        where list_contains($check_names, topic)
            and ($from_on is null or trained_on >= $from_on::date)
            and ($to_on is null or trained_on <= $to_on::date)
            and ($crew_codes is null or list_contains($crew_codes, crew_code))
        order by trained_on desc, crew_code, topic
        """,
        {
            "check_names": list(chosen.check_names or CHECK_NAMES),
            "from_on": chosen.from_on,
            "to_on": chosen.to_on,
            "crew_codes": list(chosen.crew_codes) or None,
        },
    ).fetchall()
    return tuple(RegisteredTraining(*row) for row in rows)
