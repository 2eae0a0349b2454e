"""Whom the others' rate owes its height to, where one among them makes it: pure."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard import words

Row = Mapping[str, Any]

# One group is named where so many, and half of those below, are below for it alone.
ENOUGH = 2
# A rate of all that is so many times the rate without one owes its height to that one.
LIFTED = 1.25


def yardstick_counter(rows: Sequence[Row], group: str) -> str | None:
    """Return who makes others lie below the others' rate; None where nobody does.

    `rows`: name, judged, nonconforming, high, others_rate, others_judged and
    others_nonconforming of one check (compared.add_others); `group` the noun.
    """
    below = [row for row in rows if _is_below(row, row["others_rate"])]
    owed = {
        at: sum(row is not one and not _stays_below(row, one) for row in below)
        for at, one in enumerate(rows)
    }
    if not owed:
        return None
    at = max(owed, key=lambda each: owed[each])
    if owed[at] < ENOUGH or 2 * owed[at] < len(below):
        return None
    one = rows[at]
    whole = (one["nonconforming"] + one["others_nonconforming"]) / (
        one["judged"] + one["others_judged"]
    )
    if whole < LIFTED * (one["others_rate"] or 0):
        return None
    number = "all" if owed[at] == len(below) else words.count(owed[at])
    return (
        f"{words.count(len(below))} of {words.plural(len(rows), group)} lie wholly "
        f"below the others' rate, {number} of them only because "
        f"{one['name']} is among the others: all {group}s together show "
        f"{words.percent(whole)}, without {one['name']} "
        f"{words.percent(one['others_rate'])}."
    )


def _is_below(row: Row, others_rate: float | None) -> bool:
    return others_rate is not None and bool(row["high"] < others_rate)


def _stays_below(row: Row, one: Row) -> bool:
    """Say whether a group is below its others even without one of them."""
    judged = row["others_judged"] - one["judged"]
    if not judged:
        return False
    return _is_below(row, (row["others_nonconforming"] - one["nonconforming"]) / judged)


def sunk_words(flagged: Sequence[Row], groups: Sequence[Row]) -> str:
    """Say who is out of line only beside one that shows next to nothing; mostly "".

    `flagged`: rows of a comparison that are (name, judged, nonconforming, others_rate,
    ratio_low); `groups`: name, judged and nonconforming of all that are compared. A
    flag is owed to one where its interval would hold 1 at the rate of the others
    without that one, whose own rate is under half of that.
    """
    nonconforming = sum(each["nonconforming"] for each in groups)
    judged = sum(each["judged"] for each in groups)

    def is_owed(row: Row, one: Row) -> bool:
        others = judged - row["judged"] - one["judged"]
        bad = nonconforming - row["nonconforming"] - one["nonconforming"]
        if row["name"] == one["name"] or not row["ratio_low"] or bad <= 0:
            return False
        is_low = bool(2 * one["nonconforming"] * others < bad * one["judged"])
        return is_low and bool(row["ratio_low"] * row["others_rate"] * others <= bad)

    owed = {
        at: [row for row in flagged if is_owed(row, one)]
        for at, one in enumerate(groups)
    }
    at = max(owed, key=lambda each: len(owed[each]), default=None)
    if at is None or not owed[at]:
        return ""
    one, these = groups[at], owed[at]
    few = len(these) == 1
    return (
        f"{words.and_list([row['name'] for row in these])} "
        f"{'stands' if few else 'stand'} out only beside {one['name']} "
        f"({words.share(one['nonconforming'], one['judged'])}): at the rate of the "
        f"others without it {'it' if few else 'they'} would not. Ask of {one['name']}, "
        "too: so little may be good work, or a record that is none."
    )
