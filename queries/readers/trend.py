"""The trend of one check, over all of a selection or group by group."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import TypeAlias

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from queries.errors import FirmsetError
from queries.readers.baselines import (
    RecordedBaseline,
    read_current_baselines,
    stream_of,
)
from queries.readers.days import read_judged_days
from queries.readers.rates import read_rates
from queries.selection import Selection
from queries.statistics.charted import Days, Periods, Trend
from queries.statistics.trend import BASELINE_PERIODS, trend

PERIODS = ("week", "month")


def read_trend(
    con: duckdb.DuckDBPyConnection,
    check_name: str,
    period: str,
    selection: Selection,
    baseline_from: date | None = None,
    baseline_to: date | None = None,
) -> Trend:
    """Return the trend of one check by "week" (ISO) or "month" over a selection.

    Every period from the first to the last with work is a point, idle ones without a
    rate. The baseline is every period that has a day from `baseline_from` to
    `baseline_to` (None: open), else that of the newest recorded baseline of this check
    and selection, else the first 12 in which anything was judged. The selection's dates
    choose which periods are shown, each whole: they move neither the baseline nor the
    runs that began before them. Raises FirmsetError where a given baseline holds no
    judged period.
    """
    found = read_trends(
        con, check_name, period, selection, "", baseline_from, baseline_to
    )
    return found.get("") or no_trend()


def read_trends(
    con: duckdb.DuckDBPyConnection,
    check_name: str,
    period: str,
    selection: Selection,
    by: str,
    baseline_from: date | None = None,
    baseline_to: date | None = None,
) -> Mapping[str, Trend]:
    """Return the trend of each site, crew or anchor_size (`by`), as read_trend does."""
    always = replace(selection, from_on=None, to_on=None, check_names=(check_name,))
    rates = read_rates(con, [by, period] if by else [period], always)
    days = read_judged_days(con, check_name, always, by)
    recorded = read_current_baselines(con, check_name, period)
    answers = {}
    groups = rates.partition_by(by, as_dict=True) if by else {("",): rates}
    for (name,), frame in groups.items():
        periods, in_group = _counts(frame, days, period, str(name))
        if baseline_from is not None or baseline_to is not None:
            chosen, words = _given(periods, period, baseline_from, baseline_to)
        else:
            stream = stream_of(check_name, period, _only(selection, by, str(name)))
            chosen, words = _default(periods, recorded.get(stream))
        whole = trend(periods, in_group, chosen, words)
        answers[str(name)] = within(whole, selection.from_on, selection.to_on)
    return answers


def _only(selection: Selection, by: str, name: str) -> Selection:
    """Return the selection of one group, as the terminal's filters would say it."""
    return {
        "": selection,
        "site": replace(selection, site_codes=(name,)),
        "crew": replace(selection, crew_codes=(name,)),
        "anchor_size": replace(selection, anchor_sizes=(name,)),
    }[by]


def within(whole: Trend, from_on: date | None, to_on: date | None) -> Trend:
    """Return the trend with the points that have a day in the range."""
    points = tuple(
        point for point in whole.points if _has_day(point.period, from_on, to_on)
    )
    return replace(whole, points=points)


def _has_day(label: str, from_on: date | None, to_on: date | None) -> bool:
    first, last = period_days(label)
    return (to_on is None or first <= to_on) and (from_on is None or last >= from_on)


def _counts(
    rates: pl.DataFrame, days: pl.DataFrame, period: str, group_name: str
) -> tuple[Periods, Days]:
    labels = rates[period].to_list()
    place = {label: index for index, label in enumerate(labels)}
    here = days.filter(pl.col("group_name") == group_name)
    return (
        Periods(labels, rates["judged"].to_numpy(), rates["nonconforming"].to_numpy()),
        Days(
            np.array([place[label] for label in here[period]], dtype=np.int64),
            here["judged"].to_numpy(),
            here["nonconforming"].to_numpy(),
        ),
    )


def no_trend() -> Trend:
    """Return the trend of what has no period at all."""
    empty = np.zeros(0, dtype=np.int64)
    return trend(Periods((), empty, empty), Days(empty, empty, empty), None, "")


def period_days(label: str) -> tuple[date, date]:
    """Return the first and last day of an ISO week (2026-W19) or month (2026-05)."""
    if "W" in label:
        year, number = label.split("-W")
        monday = date.fromisocalendar(int(year), int(number), 1)
        return monday, monday + timedelta(days=6)
    first = date.fromisoformat(f"{label}-01")
    after = (first + timedelta(days=31)).replace(day=1)
    return first, after - timedelta(days=1)


Chosen: TypeAlias = tuple[NDArray[np.int64] | None, str]


def _given(
    periods: Periods, period: str, first_on: date | None, last_on: date | None
) -> Chosen:
    """Return the periods that have a day in the range, and the words for it."""
    inside = _inside(periods, first_on, last_on)
    if not periods.judged[inside].sum():
        raise FirmsetError(
            f"baseline {first_on or ''} to {last_on or ''}: no {period} in it has "
            "anything judged; expected dates within the selection"
        )
    return inside, f"given: {first_on or 'the first'} to {last_on or 'the last'}"


def _default(periods: Periods, recorded: RecordedBaseline | None) -> Chosen:
    """Return the recorded baseline's periods, or none: the first ones then count."""
    first = f"default: the first {BASELINE_PERIODS} periods with anything judged"
    if recorded is None:
        return None, first
    said = (
        f"set by {recorded.author} on {recorded.set_at:%Y-%m-%d}, {recorded.from_on} "
        f"to {recorded.to_on}: {recorded.reason}"
    )
    inside = _inside(periods, recorded.from_on, recorded.to_on)
    if not periods.judged[inside].sum():
        return None, f"{first}; nothing is judged any more in the one {said}"
    return inside, said


def _inside(
    periods: Periods, first_on: date | None, last_on: date | None
) -> NDArray[np.int64]:
    return np.array(
        [
            index
            for index, label in enumerate(periods.labels)
            if _has_day(label, first_on, last_on)
        ],
        dtype=np.int64,
    )


def read_limits(
    con: duckdb.DuckDBPyConnection, selection: Selection, by: str
) -> pl.DataFrame:
    """Return the weekly limits of one check, one row a group and week.

    Columns: `by`, week, lower, upper (fractions, null where there are none), signals
    (list), is_baseline (the week is one of those the limits come from). Limits and
    signals are those of read_trends, with the default baseline.
    """
    (check_name,) = selection.check_names
    return limits_of(by, read_trends(con, check_name, "week", selection, by))


def limits_of(by: str, found: Mapping[str, Trend]) -> pl.DataFrame:
    """Return the weekly limits of trends, as read_limits does."""
    rows = [
        (
            name,
            point.period,
            point.lower,
            point.upper,
            list(point.signals),
            # ISO weeks sort as text.
            answer.baseline is not None
            and answer.baseline.first <= point.period <= answer.baseline.last,
        )
        for name, answer in found.items()
        for point in answer.points
    ]
    return pl.DataFrame(
        rows,
        schema={
            by: pl.String,
            "week": pl.String,
            "lower": pl.Float64,
            "upper": pl.Float64,
            "signals": pl.List(pl.String),
            "is_baseline": pl.Boolean,
        },
        orient="row",
    )
