"""Baselines that somebody has set, and the stream each belongs to."""

from dataclasses import dataclass
from datetime import date, datetime

import duckdb
import polars as pl

from queries.frames import read_frame
from queries.selection import Selection


@dataclass(frozen=True)
class Stream:
    """One line of a trend: a check by week or month of one selection, dates aside.

    Codes and sizes as they stand in the table: sorted, with commas; "" is all.
    """

    check_name: str
    period: str
    site_codes: str
    crew_codes: str
    anchor_sizes: str


@dataclass(frozen=True)
class RecordedBaseline:
    """From when to when, who decided it, when and why; `set_at` is a UTC instant."""

    stream: Stream
    from_on: date
    to_on: date
    author: str
    reason: str
    set_at: datetime


def stream_of(check_name: str, period: str, selection: Selection) -> Stream:
    """Return the stream of a check and a selection."""

    def joined(items: tuple[str, ...]) -> str:
        return ",".join(sorted(set(items)))

    return Stream(
        check_name,
        period,
        joined(selection.site_codes),
        joined(selection.crew_codes),
        joined(selection.anchor_sizes),
    )


def read_baselines(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Return every baseline ever set, the newest first, with is_current."""
    return read_frame(
        con,
        """
        select
            baseline_id,
            check_name as "check",
            period,
            site_codes,
            crew_codes,
            anchor_sizes,
            from_on,
            to_on,
            author,
            reason,
            set_at,
            row_number() over (
                partition by check_name, period, site_codes, crew_codes, anchor_sizes
                order by baseline_id desc
            ) = 1 as is_current
        from baseline
        order by baseline_id desc
        """,
    )


def read_current_baselines(
    con: duckdb.DuckDBPyConnection, check_name: str, period: str
) -> dict[Stream, RecordedBaseline]:
    """Return the baseline that counts of each stream of one check and period."""
    rows = con.execute(
        """
        select
            site_codes, crew_codes, anchor_sizes, from_on, to_on, author, reason, set_at
        from baseline
        where check_name = ? and period = ?
        order by baseline_id
        """,
        [check_name, period],
    ).fetchall()
    # A later one of the same stream takes the place of the earlier.
    found = {}
    for sites, crews, sizes, *decided in rows:
        stream = Stream(check_name, period, sites, crews, sizes)
        found[stream] = RecordedBaseline(stream, *decided)
    return found
