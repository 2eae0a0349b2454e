"""What a comparison of sites or crews says, and what it could have said: pure."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from dashboard import words
from dashboard.compared import found_beside
from dashboard.mix_words import MIX, mix_words
from dashboard.tipping_words import tipping_sentence
from dashboard.without_a_like import silent_words
from dashboard.yardstick import sunk_words
from queries.readers.comparison import Compared

CAUTION = "A flag is a question to ask on site, not a finding."
# How an inspector is taken out: on the pages, and in the terminal.
STRICT = (
    "A strict inspector is not taken out here; “A crew, or its inspector?” on Crews "
    "does that."
)
STRICT_IN_TERMINAL = (
    "A strict inspector is not taken out: firmset compare --same-inspector does."
)
NAMED = 3
NOWHERE = "nowhere"
# Below so many expected a multiple of it says nothing.
LEAST_EXPECTED = 0.5
# What makes work alike, besides its anchor size, in words.
KEYS = {"drill_method": "drill method", "orientation": "orientation"}


def comparison_words(
    weighed: Compared,
    group: str,
    names: Mapping[str, str] | None = None,
    *,
    same_inspector: bool = False,
) -> str:
    """Return the sentences of a comparison: what it found, and how far that holds.

    `group` is the noun ("site", "crew"), `names` the names of groups by code;
    `same_inspector` as it was read.
    """
    found = found_words(weighed, group, names, same_inspector=same_inspector)
    held = held_words(
        weighed,
        group,
        names,
        same_inspector=same_inspector,
        strict="" if same_inspector else STRICT_IN_TERMINAL,
    )
    return _joined(found, held)


def found_words(
    weighed: Compared,
    group: str,
    names: Mapping[str, str] | None = None,
    *,
    same_inspector: bool = False,
) -> str:
    """Return who is out of line, and where the mix of work makes a difference.

    Empty where nothing compares.
    """
    if not compares(weighed):
        return ""
    # What is said of those that stand out costs a fraction of all figures.
    stands_out = bool(weighed.flags["flagged"].any())
    rows = _named_rows(weighed.flags if stands_out else weighed.groups, names)
    flagged = _flagged(rows, group, is_part=len(rows) < weighed.rates.height)
    sunk = _sunk(weighed, [row for row in rows if row["flagged"]], names or {})
    flagged = _joined(flagged, sunk)
    if not weighed.has_days and any(row["flagged"] for row in rows):
        flagged = f"{flagged} {few_days_words(group)}"
    mixed = mix_words(rows, "mix of work and inspectors" if same_inspector else MIX)
    return _joined(flagged, mixed, CAUTION)


def _sunk(
    weighed: Compared, flagged: Sequence[Mapping[str, Any]], names: Mapping[str, str]
) -> str:
    """Say who is out of line for one among the others alone: of all that compare."""
    if not flagged:
        return ""
    code = pl.col(weighed.by)
    name = code.replace(dict(names)) if names else code
    counts = weighed.rates.select("judged", "nonconforming", name=name)
    return sunk_words(flagged, counts.to_dicts())


def held_words(
    weighed: Compared,
    group: str,
    names: Mapping[str, str] | None = None,
    *,
    same_inspector: bool = False,
    strict: str = STRICT,
) -> str:
    """Return how far a comparison holds: missing answers, silence, days, inspectors.

    `strict`: the sentence on inspectors, how they are taken out.
    """
    rows = _named_rows(weighed.groups, names)
    silent = silent_words(rows, group, same_inspector=same_inspector)
    if not compares(weighed):
        return silent
    return _joined(
        _without(rows),
        _tipping(rows),
        silent,
        _clean(rows, group),
        _days(weighed),
        strict,
    )


def _named_rows(
    groups: pl.DataFrame, names: Mapping[str, str] | None
) -> list[dict[str, Any]]:
    named = names or {}
    return [
        row | {"name": named.get(row["group"], row["group"])}
        for row in groups.to_dicts()
    ]


def compares(weighed: Compared) -> bool:
    """Say whether any of the groups has others with like work to be set beside."""
    return weighed.flags["p_value"].count() > 0


def _joined(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)


def clearest(row: Mapping[str, Any]) -> tuple[bool, float]:
    """Return what flagged rows are sorted by: first whose work nobody else fails."""
    return row["ratio"] is None, row["ratio"] or 0.0


def could_words(rows: Sequence[Mapping[str, Any]]) -> str | None:
    """Return from which true rate on half of the groups would be flagged.

    "Nowhere" where half of those that compare would not be at any; None without any
    that compares. Rows of read_comparison's groups.
    """
    compared = [row for row in rows if row["p_value"] is not None]
    seen = sorted(row["detectable_rate"] or math.inf for row in compared)
    if not seen:
        return None
    middle = seen[len(seen) // 2]
    return words.percent(middle) if middle < math.inf else NOWHERE


def _flagged(rows: list[dict[str, Any]], group: str, *, is_part: bool) -> str:
    flagged = sorted(
        (row for row in rows if row["flagged"]), key=clearest, reverse=True
    )
    if not flagged and len(rows) == 1:
        return _one_in_line(rows[0])
    if not flagged:
        half = could_words(rows)
        if half == NOWHERE:
            could = f": half of the {group}s would be flagged at no rate at all"
        else:
            could = (
                f": half of the {group}s would be flagged only at a true rate of "
                f"{half} or more (8 times of 10)"
            )
        none = f"None of these {len(rows)} {group}s" if is_part else f"No {group}"
        return (
            f"{none} is out of line for its mix of sizes, methods and "
            f"orientations. That is no clearance{could if half else ''}."
        )
    told = [against_words(row) for row in flagged[:NAMED]]
    more = len(flagged) - NAMED
    return (
        "Out of line for its mix of sizes, methods and orientations: "
        + "; ".join(told)
        + (f"; and {more} more" if more > 0 else "")
        + "."
    )


def few_days_words(group: str) -> str:
    """Say what flags are worth where bad days cannot be told from bad groups."""
    return (
        f"There is hardly more than a day of each {group}: a bad day and a bad {group} "
        "look alike, and more flags than promised are chance. Wait for more days."
    )


def _one_in_line(row: Mapping[str, Any]) -> str:
    """Say so of the only group shown: the others are its yardstick, not its company."""
    could = (
        ": it would be flagged only at a true rate of "
        f"{words.percent(row['detectable_rate'])} or more (8 times of 10)"
        if row["detectable_rate"]
        else ": it would be flagged at no rate at all"
    )
    return (
        f"{row['name']} is not out of line for its mix of sizes, methods and "
        f"orientations. That is no clearance{could}."
    )


def against_words(row: Mapping[str, Any]) -> str:
    """Return a row of a comparison (and its name) beside what would be expected."""
    return f"{row['name']}, {expected_words(row)}"


def expected_words(row: Mapping[str, Any]) -> str:
    """Return the nonconforming of a row of a comparison beside those expected.

    Both in work that others did too: what a row did alone has nothing beside it.
    """
    ratio = (
        f", {words.fixed(row['ratio'], 1)} times "
        f"({words.fixed(row['ratio_low'], 1)}{words.DASH}"
        f"{words.fixed(row['ratio_high'], 1)})"
        if row["ratio"] and row["expected"] >= LEAST_EXPECTED
        else ""
    )
    alone = row["silent_nonconforming"]
    others = f" (and {words.count(alone)} in work that no other did)" if alone else ""
    return (
        f"{words.count(found_beside(row))} nonconforming{others} where "
        f"{words.expected(row['expected'])} would be expected at the others' "
        f"rates{ratio}{without_words(row)}"
    )


def times_words(row: Mapping[str, Any]) -> str:
    """Return how many times the expected a row shows; both counts where that is little.

    Hundreds of times what was hardly expected are one anchor.
    """
    expected = row["expected"]
    if row["ratio"] is None or expected < LEAST_EXPECTED:
        return (
            f"{words.count(found_beside(row))} where {words.expected(expected)} would "
            "be expected"
        )
    return f"{words.fixed(row['ratio'], 1)} times expected"


def beside_words(row: Mapping[str, Any]) -> str:
    """Return of which work what is expected is, where it is not of all; mostly ""."""
    if not row["silent_judged"]:
        return without_words(row).lstrip(", ")
    found = f"beside {words.count(found_beside(row))} of its own; "
    return (
        f"{found if row['silent_nonconforming'] else ''}"
        f"{words.count(row['silent_judged'])} without a like{without_words(row)}"
    )


def without_words(row: Mapping[str, Any]) -> str:
    """Return what a row is compared without, as one side does not log it; mostly ""."""
    return f", compared without {keys_without(row)}" if row["without"] else ""


def keys_without(row: Mapping[str, Any]) -> str:
    """Return in words the keys of the work that a row is compared without."""
    keys = row["without"].split(",") if row["without"] else []
    return words.and_list([KEYS[key] for key in keys])


def _without(rows: Sequence[Mapping[str, Any]]) -> str:
    """Say which groups are compared without a part of what makes work alike."""
    by_keys: dict[str, list[str]] = {}
    for row in rows:
        if row["without"]:
            by_keys.setdefault(keys_without(row), []).append(row["name"])
    return " ".join(
        f"{words.and_list(names)} {'are' if len(names) > 1 else 'is'} compared without "
        f"{keys}, which {'they' if len(names) > 1 else 'it'} or the others do not log: "
        "what that does to a rate is in the difference."
        for keys, names in by_keys.items()
    )


def _tipping(rows: list[dict[str, Any]]) -> str:
    """Say how far the missing answers bear on the groups that are named.

    Named are those flagged; of two groups that compare, the one above.
    """
    named = [row for row in rows if row["flagged"]]
    if not named and sum(row["tips_side"] != 0 for row in rows) == 2:
        named = [row for row in rows if row["tips_side"] > 0]
    named = sorted(named, key=clearest, reverse=True)[:NAMED]
    said = [tipping_sentence(row["name"], row) for row in named]
    return " ".join(part for part in said if part)


def _clean(rows: list[dict[str, Any]], group: str) -> str:
    """Say what a spotless group has not yet shown."""
    spotless = [
        row
        for row in rows
        if row["judged"] and not row["nonconforming"] and row["more_clean_checks"]
    ]
    if not spotless:
        return ""
    row = max(spotless, key=lambda item: int(item["judged"]))
    open_up_to = words.percent(row["clean_up_to"])
    return (
        f"{row['name']} has 0 of {words.count(row['judged'])}, which leaves a true rate"
        f" of up to {open_up_to} open (95{words.SPACE}%, one-sided): "
        f"{words.plural(row['more_clean_checks'], 'more clean check')} would rule out "
        f"5{words.SPACE}%."
    )


def _days(weighed: Compared) -> str:
    found, judged = weighed.rates["nonconforming"].sum(), weighed.rates["judged"].sum()
    if found in (0, judged):
        # Of all or nothing no day can be worse than another.
        return ""
    if weighed.days < 2:
        return "Too few days to see whether nonconforming anchors come in bad days."
    if weighed.correlation == 0:
        return ""
    widest = max(weighed.groups["variation"].to_list())
    return (
        "Nonconforming anchors come in bad days, which makes these comparisons up to "
        f"{words.fixed(widest, 2)} times as uncertain (in variance); that is allowed "
        "for."
    )
