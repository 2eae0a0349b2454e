"""Change a ledger by something else than a load, and publish."""

from collections.abc import Callable
from datetime import datetime
from typing import TypeVar

import duckdb

from etl.faults import change_fault
from etl.ledger import open_ledger
from etl.lock import hold_store
from etl.publish import publish_edition, seal_edition
from queries.store import Store

Made = TypeVar("Made")


def change_store(
    store: Store,
    change: Callable[[duckdb.DuckDBPyConnection], Made],
    *,
    now: datetime,
    reason: str,
    wait_s: float = 0,
) -> tuple[Made, int]:
    """Return what `change` returns, its transaction done, and the edition published.

    `now` is the clock (UTC), `reason` what the edition is said to be published for;
    another load's end is awaited for `wait_s` seconds. Raises FirmsetError where the
    store is busy for longer, damaged, or on a disk that cannot be written.
    """
    is_made = False
    try:
        with hold_store(store, wait_s):
            with open_ledger(store) as con:
                made = change(con)
                is_made = True
                edition_id = seal_edition(con, store, now, reason)
            publish_edition(store, edition_id)
    except (duckdb.Error, OSError) as error:
        raise change_fault(error, store, is_made=is_made) or error from error
    return made, edition_id
