"""What changed since last month, in sentences: pure."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from dashboard import words
from dashboard.counter_headline import Counts, fell_with_recording
from dashboard.sentences import MUCH_MISSING
from queries.readers.change_counts import month_end
from queries.readers.changes import Changes

Row = dict[str, Any]
NAMED = 6
# Below so many answers due a share of missing ones says little.
ENOUGH_DUE = 20
NO_MONTH = (
    "No whole month with anything logged lies in these dates, so there is nothing to "
    "compare."
)


def month_name(first: date) -> str:
    """Return a month as everywhere else: 2026-10."""
    return f"{first:%Y-%m}"


def changed_words(found: Changes, names: Mapping[str, str]) -> list[str]:
    """Return a sentence for each change that stands out, the clearest first."""
    rows = found.looks.filter(pl.col("is_changed").fill_null(False)).sort(
        "q_value", "p_value", "group", "check"
    )
    said = [_change(row, names) for row in rows.head(NAMED).to_dicts()]
    more = rows.height - NAMED
    if more > 0:
        stand = "stands" if more == 1 else "stand"
        said.append(f"{words.plural(more, 'more change')} {stand} out: see the file.")
    return said


def change_words(
    found: Changes, group: str, names: Mapping[str, str], check_name: str
) -> list[str]:
    """Return what a reader must know of the list, a line each.

    `group` is the noun ("site", "crew"); `check_name` the check whose smallest visible
    rise is said.
    """
    if found.earlier is None or found.later is None:
        return [NO_MONTH]
    said = [
        _looked(found, group),
        _seen(found, group, check_name),
        _recording(found, names),
    ]
    return [line for line in said if line]


def _change(row: Row, names: Mapping[str, str]) -> str:
    name = names.get(row["group"], row["group"])
    return (
        f"{words.title(row['check'])} at {name} {_moved(row)} "
        f"from {_rate(row, 'earlier')} to {_rate(row, 'later')}: "
        f"{words.points(row['difference'])} points ({words.points(row['low'])} to "
        f"{words.points(row['high'])}){_owed(row)}.{_only_recorded_less(row)}"
    )


def _owed(row: Row) -> str:
    """Say what of a difference is the mix of work, or why that cannot be told."""
    if row["mix_part"] is not None:
        return f", of which its mix of work makes {words.points(row['mix_part'])}"
    if not row["alone_judged"]:
        return ""
    return (
        f"; {words.count(row['alone_judged'])} of its "
        f"{words.count(row['later_judged'])} "
        f"({words.count(row['alone_nonconforming'])} nonconforming) are of kinds not "
        "done the month before, so that mix and doing cannot be told apart"
    )


def _moved(row: Row) -> str:
    """Say which way a look went: within like work, which is what was asked."""
    if is_turned(row):
        return f"{verb_of(row)} within like work, though the plain rate went"
    return verb_of(row)


def verb_of(row: Row) -> str:
    """Return which way a changed look went within like work."""
    return "rose" if row["is_worse"] else "fell"


def is_turned(row: Row) -> bool:
    """Say whether the plain rates of a changed look went another way than like work."""
    return bool((row["difference"] > 0) != row["is_worse"])


def _rate(row: Row, month: str) -> str:
    counted = words.share(row[f"{month}_nonconforming"], row[f"{month}_judged"])
    return f"{words.percent(row[f'{month}_rate'])} ({counted})"


def counts_of(row: Row, month: str) -> Counts:
    """Return the counts of a look in its "earlier" or "later" month."""
    return Counts(
        *(row[f"{month}_{name}"] for name in ("judged", "nonconforming", "missing"))
    )


def _only_recorded_less(row: Row) -> str:
    """Warn of a rate that fell where so much is missing that it need not have."""
    was, now = counts_of(row, "earlier"), counts_of(row, "later")
    may_be = f"with them the rate may be up to {words.percent(now.worst)}."
    missing = f"{words.percent(now.missing_share)} of the answers are missing"
    before = words.percent(was.missing_share)
    if fell_with_recording(was, now):
        return f" But recording fell too: {missing}, after {before}; {may_be}"
    if _may_not_have_fallen(was, now):
        return f" But {missing}, as {before} were before; {may_be}"
    return ""


def _may_not_have_fallen(was: Counts, now: Counts) -> bool:
    return (
        was.rate is not None
        and now.rate is not None
        and now.rate < was.rate <= now.worst
        and (now.missing_share or 0) >= MUCH_MISSING
    )


def _looked(found: Changes, group: str) -> str:
    looks = found.looks.filter(pl.col("p_value").is_not_null())
    assert found.later is not None and found.earlier is not None
    months = (
        f"{month_name(found.later)} beside {month_name(found.earlier)}, whole months"
    )
    if looks.is_empty():
        return f"{months}: no {group} has anything judged in both that compares."
    said = (
        f"{months}: {words.plural(looks.height, 'look')} "
        f"({words.plural(looks['group'].n_unique(), group)}, "
        f"{words.plural(looks['check'].n_unique(), 'check')}), like work with like"
    )
    changed = int(looks["is_changed"].sum())
    if changed:
        return (
            f"{said}. Of all that is said to have changed in this way, at most one in "
            "twenty is expected to be luck."
        )
    return (
        f"{said}. Nothing has changed that these counts could show, so many looks "
        "allowed for. That is no clearance."
    )


def _seen(found: Changes, group: str, check_name: str) -> str:
    seen = found.looks.filter(
        (pl.col("check") == check_name) & pl.col("p_value").is_not_null()
    ).sort("detectable_rise", nulls_last=True)
    if seen.is_empty():
        return ""
    rises = seen["detectable_rise"].to_list()
    middle = rises[len(rises) // 2]
    title = words.title(check_name).lower()
    if middle is None:
        where = f" at half of the {group}s" if len(rises) > 1 else ""
        return f"In {title} no rise could have been seen{where}."
    least, half = (words.fixed(100 * rise, 1) for rise in (rises[0], middle))
    where = f" at half of the {group}s, and nowhere one of less than {least}"
    return (
        f"In {title} a rise of less than {half} points could not have been "
        f"seen{where if len(rises) > 1 else ''} (8 times of 10)."
    )


def _recording(found: Changes, names: Mapping[str, str]) -> str:
    """Say where far fewer answers came than the month before."""
    lost = []
    for row in found.looks.to_dicts():
        counts = [counts_of(row, month) for month in ("earlier", "later")]
        was, now = (each.missing_share for each in counts)
        due = min(each.judged + each.missing for each in counts)
        if was is None or now is None or due < ENOUGH_DUE:
            continue
        if now - was >= MUCH_MISSING:
            name = names.get(row["group"], row["group"])
            title = words.title(row["check"]).lower()
            told = f"{title} at {name} ({words.percent(was)} to {words.percent(now)})"
            lost.append((now - was, told))
    worst = [text for _, text in sorted(lost, reverse=True)]
    return f"More answers are missing: {words.and_list(worst)}." if worst else ""


def silence_words(found: Changes, names: Mapping[str, str]) -> list[str]:
    """Return a sentence each on who is new, who is back, and who sent nothing."""
    if found.later is None or found.earlier is None:
        return []
    later, earlier = month_name(found.later), month_name(found.earlier)
    new, back, fell_silent, silent, after = [], [], [], [], []
    for row in found.groups.to_dicts():
        name = str(names.get(row["group"], row["group"]))
        was, now = row["earlier_installations"], row["later_installations"]
        if row["first_on"] > month_end(found.later):
            after.append(f"{name} ({words.day(row['first_on'])})")
        elif now and row["first_on"] >= found.later:
            new.append(f"{name} ({words.plural(now, 'installation')})")
        elif now and not was:
            back.append(f"{name} ({words.plural(now, 'installation')})")
        elif was and not now:
            fell_silent.append(f"{name} ({words.count(was)} the month before)")
        elif not now:
            silent.append(f"{name} (last {words.day(row['last_on'])})")
    return [
        f"{said} {words.and_list(named)}."
        for said, named in (
            (f"New in {later}:", new),
            (f"Back in {later}, with nothing in {earlier}:", back),
            (f"Sent nothing in {later}:", fell_silent),
            ("Sent nothing in either month:", silent),
            (f"First heard of after {later}:", after),
        )
        if named
    ]
