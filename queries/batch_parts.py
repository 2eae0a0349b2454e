"""Batches (site, crew and day) some at a time, so that their rows can be sorted."""

from dataclasses import dataclass
from datetime import date

import duckdb

# Rows sorted at a time: some 250 MB.
AT_ONCE = 500_000


@dataclass(frozen=True)
class BatchPart:
    """Some batches: between which days they lie, and their keys.

    A key is the hash of site, crew and day. All that batch_count and batch_time_count
    take.
    """

    from_on: date
    to_on: date
    batch_keys: list[int]

    @property
    def parameters(self) -> dict[str, object]:
        """Return them by the names that a statement uses."""
        return {
            "from_on": self.from_on,
            "to_on": self.to_on,
            "batch_keys": self.batch_keys,
        }


def batch_parts(
    con: duckdb.DuckDBPyConnection, batches: str = "tally", at_once: int = AT_ONCE
) -> list[BatchPart]:
    """Return the batches of a relation, by days, in parts of `at_once` installations.

    `batches` names a relation with site_code, crew_code and installed_on; batches
    without an installation in the tally are left out. A batch is never divided.
    """
    found = con.execute(
        f"""
        select
            hash(site_code, crew_code, installed_on), installed_on,
            sum(installations)::bigint
        from tally
        where (site_code, crew_code, installed_on) in (
            select (site_code, crew_code, installed_on) from {batches}
        )
        group by site_code, crew_code, installed_on
        having sum(installations) > 0
        order by installed_on
        """
    ).fetchall()
    parts: list[BatchPart] = []
    keys: list[int] = []
    rows, from_on = 0, date.min
    for position, (key, installed_on, installations) in enumerate(found):
        if not keys:
            from_on = installed_on
        keys.append(key)
        rows += installations
        is_last = position + 1 == len(found)
        if is_last or rows + found[position + 1][2] > at_once:
            parts.append(BatchPart(from_on, installed_on, keys))
            keys, rows = [], 0
    return parts
