"""What a reader sees where something could not be made: words, and the rest stands."""

import logging

import duckdb

from dashboard.kept import pass_on
from queries.edition_file import is_damage
from queries.errors import FirmsetError

LONGEST = 300


def failure_words(error: Exception) -> str:
    """Say what failed; what is no plain FirmsetError is logged with its trace.

    An answer that says so is not kept. Damage of the edition's file is raised on: the
    store then turns to another one; and so is an interruption, which nobody reads.
    """
    pass_on()
    if isinstance(error, FirmsetError):
        return str(error)
    if isinstance(error, duckdb.InterruptException) or (
        isinstance(error, duckdb.Error) and is_damage(error)
    ):
        raise error
    logging.getLogger("firmset").error("firmset: a page failed", exc_info=error)
    reason = (str(error).splitlines() or [""])[0][:LONGEST]
    return (
        f"{type(error).__name__}: {reason}. This is a fault of firmset or of its "
        "store, not of the logs; the server's log has the details."
    )
