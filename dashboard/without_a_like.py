"""What is said of work that no other site or crew did: with it nothing compares."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboard import words

# From this share on of its anchors, or of more than FEW nonconforming, that are in work
# that no other did, it is said (project defaults).
MOSTLY_ALONE = 0.5
FEW = 5


def silent_words(
    rows: Sequence[Mapping[str, Any]], group: str, *, same_inspector: bool
) -> str:
    """Say of which groups nothing, or the smaller part, has a like among the others.

    `rows` of read_comparison with their `name`; `group` is the noun.
    """
    silent = [
        row["name"]
        for row in rows
        if row["judged"] and row["silent_judged"] == row["judged"]
    ]
    mostly = "" if len(rows) < 2 else _mostly_silent(rows, group)
    if not silent or len(rows) < 2:
        return mostly
    under = (
        " under the same inspector, so that it cannot be told apart from its inspectors"
        if same_inspector
        else ""
    )
    nothing = (
        f"Nothing compares with {words.and_list(silent)}: no other {group} set the "
        f"same sizes by the same method and orientation{under}."
    )
    return " ".join(part for part in (nothing, mostly) if part)


def _mostly_silent(rows: Sequence[Mapping[str, Any]], group: str) -> str:
    """Say of which groups the comparison holds for the smaller part of their work."""
    told = [
        f"{words.count(row['silent_judged'])} of the {words.count(row['judged'])} of "
        f"{row['name']}, {words.count(row['silent_nonconforming'])} of them "
        "nonconforming"
        for row in rows
        if row["silent_judged"] < row["judged"] and _is_mostly_alone(row)
    ]
    if not told:
        return ""
    return f"No other {group} has a like of {words.and_list(told)}: nothing tells."


def _is_mostly_alone(row: Mapping[str, Any]) -> bool:
    found = row["silent_nonconforming"]
    return bool(
        row["silent_judged"] >= MOSTLY_ALONE * row["judged"]
        or (found >= FEW and found >= MOSTLY_ALONE * row["nonconforming"])
    )
