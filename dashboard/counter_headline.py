"""Where a chart reads one way and means another, one sentence saying so: pure.

Each function takes figures that the page has read already, and returns None where
both readings agree.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from dashboard import words
from dashboard.compared import expected_rate
from dashboard.comparison_words import clearest
from dashboard.sentences import MUCH_MISSING
from dashboard.yardstick import yardstick_counter
from queries.readers.drilling_support import by_method

Row = Mapping[str, Any]

# A difference of raw rates that the eye would make something of.
SEEN = 0.005
# Weeks that a trend is read over, beside as many before.
WEEKS = 12
# Below so many answers due, or timed holes, a figure says too little to be read.
ENOUGH = 20
# Below so many abandoned the share of them is luck.
ENOUGH_ABANDONED = 10
# From here on the time of a good hole is another than a completed hole's.
TIME_DIFFERS = 1.05


@dataclass(frozen=True)
class Counts:
    """Counts of one check in one period; `missing`: unrecorded or unreadable."""

    judged: int
    nonconforming: int
    missing: int

    @property
    def rate(self) -> float | None:
        """Nonconforming of judged; None where nothing was."""
        return self.nonconforming / self.judged if self.judged else None

    @property
    def missing_share(self) -> float | None:
        """The share of due answers that are missing; None where none was due."""
        due = self.judged + self.missing
        return self.missing / due if due else None

    @property
    def worst(self) -> float:
        """The rate if none of the missing answers conformed; something is due."""
        return (self.nonconforming + self.missing) / (self.judged + self.missing)


def fell_with_recording(before: Counts, after: Counts) -> bool:
    """Return whether a rate fell where recording fell so far that it need not have."""
    if before.rate is None or after.rate is None:
        return False
    was, now = before.missing_share or 0.0, after.missing_share or 0.0
    return (
        after.rate < before.rate
        and now - was >= MUCH_MISSING
        and after.worst >= before.rate
    )


def comparison_counter(
    rates: Sequence[Row],
    compared: Sequence[Row],
    group: str,
    names: Mapping[str, str] | None = None,
) -> str | None:
    """Return what raw rates side by side hide; None where they say what is so.

    `rates`: one row a group of one check, with its code under `group` ("site",
    "crew"), as read_rates and add_others give them; `compared`: the rows of
    read_comparison.
    """
    named = names or {}
    by_code = {row["group"]: row for row in compared}
    rows = [
        {**by_code[row[group]], **row, "name": named.get(row[group], row[group])}
        for row in rates
        if row["judged"] and row[group] in by_code
    ]
    if len(rows) < 2:
        return None
    said = [
        _last_but_in_line(rows, group),
        _first_but_unknown(rows),
        yardstick_counter(rows, group),
    ]
    return " ".join(part for part in said if part) or None


def _last_but_in_line(rows: Sequence[Row], group: str) -> str | None:
    """Say so where the worst raw rate is not the one out of line for its work."""
    worst = max(rows, key=lambda row: (row["rate"], row["judged"]))
    others = worst["others_rate"]
    if worst["flagged"] or others is None or worst["rate"] - others < SEEN:
        return None
    flagged = [row for row in rows if row["flagged"]]
    out = max(flagged, key=clearest) if flagged else None
    who = (
        f"; out of line is {out['name']} ({words.percent(out['rate'])}, where "
        f"{_mix_rate(out)} would be expected)"
        if out
        else f"; none of these {len(rows)} {group}s is out of line"
    )
    return (
        f"Raw rates put {worst['name']} last ({_counted(worst)}), but it is not shown "
        f"to be out of line: {_excuse(worst, group)}{who}."
    )


def _excuse(row: Row, group: str) -> str:
    """Say why a high raw rate is no finding: the mix, few judged, or the looks."""
    expected = expected_rate(row)
    if expected is None:
        return f"no other {group} did the same work, so nothing compares"
    alone = row["silent_nonconforming"]
    if alone / row["judged"] >= (row["rate"] - row["others_rate"]) / 2:
        return (
            f"{words.count(alone)} of its {words.count(row['nonconforming'])} are in "
            f"work that no other {group} did, where nothing compares"
        )
    if expected - row["others_rate"] >= (row["rate"] - row["others_rate"]) / 2:
        return (
            f"for its mix of sizes, methods and orientations {_mix_rate(row)} would be "
            "expected"
        )
    if row["low"] <= expected or not expected:
        return (
            f"its {words.count(row['judged'])} judged leave anything from "
            f"{words.interval(row['low'], row['high'])} open, and {_mix_rate(row)} "
            "would be expected of its work"
        )
    return (
        f"{_mix_rate(row)} would be expected of its work, and bad days and the number "
        f"of {group}s compared can make such a difference by chance"
    )


def _first_but_unknown(rows: Sequence[Row]) -> str | None:
    """Say so where the best raw rate is one of few judged, or of much unrecorded."""
    best = min(rows, key=lambda row: (row["rate"], row["judged"]))
    others = best["others_rate"]
    if others is None or best["rate"] >= others:
        return None
    missing = best["unrecorded"] + best["unreadable"]
    share = missing / (best["judged"] + missing)
    same = [row for row in rows if row["rate"] == best["rate"]]
    if share >= MUCH_MISSING and best["rate_if_unrecorded_not"] > others:
        return (
            f"{_lowest(best, len(same) - 1)}{words.percent(share)} of its answers are "
            "missing, with which its true rate may be up to "
            f"{words.percent(best['rate_if_unrecorded_not'])}, above the others' "
            f"{words.percent(others)}."
        )
    is_clean = best["clean_up_to"] is not None
    open_up_to = _open_up_to(best)
    if open_up_to <= others or not (is_clean or others - best["rate"] >= SEEN):
        return None
    side = "one-sided" if is_clean else "interval"
    # Of many judged the same rate leaves nothing open.
    alike = sum(_open_up_to(row) > (row["others_rate"] or 0) for row in same) - 1
    return (
        f"{_lowest(best, alike)}{words.count(best['judged'])} judged leave a true rate "
        f"of up to {words.percent(open_up_to)} open (95{words.SPACE}%, {side}), above "
        f"the others' {words.percent(others)}."
    )


def _lowest(best: Row, alike: int) -> str:
    others_too = f", as have {words.count(alike)} more" if alike > 0 else ""
    return (
        f"{best['name']} has the lowest raw rate ({_counted(best)}){others_too}, but "
    )


def _open_up_to(row: Row) -> float:
    """Return up to where a row's true rate may lie."""
    open_up_to = row["clean_up_to"] if row["clean_up_to"] is not None else row["high"]
    return float(open_up_to)


def _counted(row: Row) -> str:
    counted = words.share(row["nonconforming"], row["judged"])
    return f"{words.percent(row['rate'])}, {counted}"


def _mix_rate(row: Row) -> str:
    return words.percent(expected_rate(row))


def trend_counter(weeks: pl.DataFrame, key: str, prefix: str = "") -> str | None:
    """Return whose rate fell as its recording fell; None where nobody's.

    `weeks`: rates by `key` and ISO week, as read_rates gives them. The newest WEEKS
    beside as many before; of several the one that lost most answers.
    """
    newest = weeks["week"].unique().sort(descending=True).to_list()
    halves = newest[:WEEKS], newest[WEEKS : 2 * WEEKS]
    if not halves[1]:
        return None
    after, before = (_counts_by(weeks, key, half) for half in halves)
    fallen = [
        (name, before[name], after[name])
        for name in after
        if name in before and _is_enough(before[name], after[name])
    ]
    if not fallen:
        return None
    name, was, now = max(
        fallen,
        key=lambda one: (one[2].missing_share or 0) - (one[1].missing_share or 0),
    )
    return (
        f"{prefix}{name}'s rate fell from {_told(was)} to "
        f"{_told(now)} in the last {words.plural(len(halves[0]), 'week')},"
        f" but so did recording: {words.percent(now.missing_share)} of the answers are "
        f"missing, after {words.percent(was.missing_share)}, and with them the rate "
        f"may be up to {words.percent(now.worst)}."
    )


def _told(counts: Counts) -> str:
    counted = words.share(counts.nonconforming, counts.judged)
    return f"{words.percent(counts.rate)} ({counted})"


def _is_enough(was: Counts, now: Counts) -> bool:
    due = min(was.judged + was.missing, now.judged + now.missing)
    return (
        due >= ENOUGH
        and fell_with_recording(was, now)
        and (was.rate or 0) - (now.rate or 0) >= SEEN
    )


def _counts_by(
    weeks: pl.DataFrame, key: str, within: Iterable[str]
) -> dict[str, Counts]:
    names = ("judged", "nonconforming", "unrecorded", "unreadable")
    summed = (
        weeks.filter(pl.col("week").is_in(list(within)))
        .group_by(key, maintain_order=True)
        .agg(pl.col(names).sum())
    )
    return {
        name: Counts(judged, found, unrecorded + unreadable)
        for name, judged, found, unrecorded, unreadable in summed.iter_rows()
    }


def drilling_counter(summary: pl.DataFrame) -> str | None:
    """Return where completed holes alone understate a good hole most; None: nowhere.

    `summary`: read_drilling_summary.
    """
    both = (
        summary.filter(
            (pl.col("completed_timed") >= ENOUGH)
            & (pl.col("abandoned") >= ENOUGH_ABANDONED)
        )
        .with_columns(times=pl.col("s_per_good_hole") / pl.col("completed_mean_s"))
        .filter(pl.col("times") >= TIME_DIFFERS)
        .sort("times", descending=True, maintain_order=True)
    )
    if both.is_empty():
        return None
    row = both.row(0, named=True)
    more = both.height - 1
    elsewhere = (
        f"; in {words.plural(more, 'other size and method', 'other sizes and methods')}"
        f" the difference is over {100 * (TIME_DIFFERS - 1):.0f}{words.SPACE}% too"
        if more
        else ""
    )
    return (
        f"A line through completed holes alone would give {row['anchor_size']} "
        f"{by_method(row['drill_method'])} "
        f"{words.quantity(row['completed_mean_s'], 's')} a hole, but a good hole takes "
        f"{words.quantity(row['s_per_good_hole'], 's')}, "
        f"{100 * (row['times'] - 1):.0f}{words.SPACE}% more, because "
        f"{words.share(row['abandoned'], row['attempts'])} attempts were abandoned and "
        f"their time was spent as well{elsewhere}."
    )
