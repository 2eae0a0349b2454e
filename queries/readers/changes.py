"""What changed since last month: whole months, site by site and check by check."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import duckdb
import polars as pl

from queries.errors import FirmsetError
from queries.frames import read_frame
from queries.judgement import CHECK_NAMES, RATE_NAMES
from queries.readers.change_counts import (
    COUNTS,
    Counted,
    count_columns,
    count_month,
    inflations,
    month_end,
    whole_month,
)
from queries.readers.edition import read_edition
from queries.readers.evidence import CELL_KEYS, read_tally_sums
from queries.readers.rates import require_known
from queries.selection import Selection
from queries.statistics.period_change import Change, period_change

CHANGED_BY = ("site", "crew")
FIGURES = (
    "earlier_rate",
    "later_rate",
    "difference",
    "low",
    "high",
    "mix_part",
    "performance_part",
    "alone_judged",
    "alone_nonconforming",
    "p_value",
    "q_value",
    "is_changed",
    "is_worse",
    "detectable_rise",
)
# The last place on earth where a day ends is twelve hours behind UTC.
LAST_CLOCK = timedelta(hours=12)


@dataclass(frozen=True)
class Changes:
    """Two whole months, their first days `earlier` and `later`; None: there are none.

    `looks`: one row a group and check, with columns group, check, earlier_ and later_
    judged, nonconforming, missing (unrecorded or unreadable), and FIGURES of
    queries/statistics/period_change.py, null where undefined; by group and check.
    `groups`: one row a group that ever sent anything, with columns group,
    earlier_installations, later_installations, first_on, last_on (of all time up to
    the last day chosen, within the places and sizes chosen).
    """

    earlier: date | None
    later: date | None
    looks: pl.DataFrame
    groups: pl.DataFrame


def read_changes(
    con: duckdb.DuckDBPyConnection, by: str, selection: Selection
) -> Changes:
    """Compare the last whole month with the one before, for every "site" or "crew".

    The last month with anything logged that lies whole within the dates chosen, and
    that had ended everywhere when the edition was published; the month before it may
    lie outside the dates. No check in the selection means all, any_check only where it
    is named. A filter on sites (crews) chooses which are looked at; how alike a day's
    anchors are is taken from all, over the year up to the month. Raises FirmsetError
    for another `by`, or an unknown check.
    """
    if by not in CHANGED_BY:
        raise FirmsetError(f"--by {by}: expected {' or '.join(CHANGED_BY)}")
    check_names = selection.check_names or CHECK_NAMES
    require_known("check", check_names, RATE_NAMES)
    key = f"{by}_code"
    later = _last_month(con, selection)
    spans = _read_spans(con, key, selection)
    if later is None:
        return Changes(None, None, _empty_looks(), spans)
    earlier = (later - timedelta(days=1)).replace(day=1)
    spans = _add_installations(con, key, selection, earlier, later, spans)
    looked_at = spans.filter(
        (pl.col("earlier_installations") > 0) & (pl.col("later_installations") > 0)
    )["group"].to_list()
    looks = (
        _read_looks(con, key, selection, check_names, (earlier, later), looked_at)
        if looked_at
        else _empty_looks()
    )
    return Changes(earlier, later, looks, spans)


def _last_month(con: duckdb.DuckDBPyConnection, selection: Selection) -> date | None:
    """Return the first day of the later month, whatever the places chosen.

    A site that fell silent is then seen to be silent, and not held to older months.
    """
    months = con.execute(
        """
        select distinct date_trunc('month', installed_on)::date as first_on
        from tally
        where
            ($from_on is null or installed_on >= $from_on::date)
            and ($to_on is null or installed_on <= $to_on::date)
        order by first_on desc
        """,
        {"from_on": selection.from_on, "to_on": selection.to_on},
    ).fetchall()
    ended = (read_edition(con).published_at - LAST_CLOCK).date()
    for (first,) in months:
        last = month_end(first)
        if (
            last < ended
            and (selection.from_on is None or first >= selection.from_on)
            and (selection.to_on is None or last <= selection.to_on)
        ):
            return date(first.year, first.month, 1)
    return None


def _read_spans(
    con: duckdb.DuckDBPyConnection, key: str, selection: Selection
) -> pl.DataFrame:
    parameters = selection.parameters()
    # What came before the dates chosen is known to them; what came after is not.
    del parameters["from_on"]
    return read_frame(
        con,
        f"""
        select
            {key} as "group",
            0::bigint as earlier_installations,
            0::bigint as later_installations,
            min(installed_on) as first_on,
            max(installed_on) as last_on
        from tally
        where
            ($to_on is null or installed_on <= $to_on::date)
            and ($site_codes is null or list_contains($site_codes, site_code))
            and ($crew_codes is null or list_contains($crew_codes, crew_code))
            and ($anchor_sizes is null or list_contains($anchor_sizes, anchor_size))
        group by {key}
        having sum(installations) > 0
        order by {key}
        """,
        parameters,
    )


def _add_installations(
    con: duckdb.DuckDBPyConnection,
    key: str,
    selection: Selection,
    earlier: date,
    later: date,
    spans: pl.DataFrame,
) -> pl.DataFrame:
    for name, first in (("earlier", earlier), ("later", later)):
        column = f"{name}_installations"
        month = whole_month(selection, first)
        sums = read_tally_sums(con, (key,), ("installations",), month)
        counted = sums.select(pl.col(key).alias("group"), pl.col("installations"))
        spans = (
            spans.join(counted, on="group", how="left", maintain_order="left")
            .with_columns(pl.col("installations").fill_null(0).alias(column))
            .drop("installations")
        )
    return spans


def _read_looks(
    con: duckdb.DuckDBPyConnection,
    key: str,
    selection: Selection,
    check_names: Sequence[str],
    months: tuple[date, date],
    groups: list[str],
) -> pl.DataFrame:
    sums = [
        read_tally_sums(
            con,
            (key, *CELL_KEYS),
            count_columns(check_names),
            whole_month(selection, first),
        ).filter(pl.col(key).is_in(groups))
        for first in months
    ]
    kinds = dict.fromkeys(
        kind for frame in sums for kind in frame.select(CELL_KEYS).rows()
    )
    columns = {kind: column for column, kind in enumerate(kinds)}
    earlier, later = (
        count_month(frame, key, check_names, groups, columns) for frame in sums
    )
    times = inflations(con, key, selection, check_names, months, groups)
    found = period_change(earlier.cells, later.cells, *times)
    return _frame(groups, check_names, earlier, later, found)


def _frame(
    groups: list[str],
    check_names: Sequence[str],
    earlier: Counted,
    later: Counted,
    found: Change,
) -> pl.DataFrame:
    named = {
        "group": [group for group in groups for _ in check_names],
        "check": list(check_names) * len(groups),
    }
    counts = {
        f"{month}_{name}": values
        for month, counted in (("earlier", earlier), ("later", later))
        for name, values in (
            ("judged", counted.cells.judged.sum(axis=1)),
            ("nonconforming", counted.cells.nonconforming.sum(axis=1)),
            ("missing", counted.missing),
        )
    }
    figures = {name: getattr(found, name) for name in FIGURES}
    return pl.DataFrame(named | counts | figures).with_columns(
        pl.col(pl.Float64).fill_nan(None)
    )


def _empty_looks() -> pl.DataFrame:
    kinds: dict[str, type[pl.DataType]] = {"group": pl.String, "check": pl.String}
    kinds |= {f"{month}_{name}": pl.Int64 for month in _MONTHS for name in COUNTS}
    kinds |= dict.fromkeys(FIGURES, pl.Float64)
    kinds |= {"is_changed": pl.Boolean, "is_worse": pl.Boolean}
    return pl.DataFrame(schema=kinds)


_MONTHS = ("earlier", "later")
