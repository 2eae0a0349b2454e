"""What missing answers would have to be for a comparison to turn round: pure."""

from collections.abc import Mapping
from typing import Any

from dashboard import words

# Of answers that are missing by no intent, most would conform as most recorded ones do.
MOST_FAULTY = 0.5


def tipping_words(row: Mapping[str, Any]) -> str:
    """Return the sentence of one group of a comparison, without its name.

    `row`: judged, missing, others_missing and the tips_ columns of read_comparison.
    Empty where nothing compares, or no answer is missing.
    """
    side, by = row["tips_side"], row["tips_by"]
    own, others = row["missing"], row["others_missing"]
    if not side or not own + others:
        return ""
    place = "above" if side > 0 else "below"
    if by == "nobody":
        return f"{place} the others' whatever the missing answers are"
    told = row["tips_conforming"]
    if by == "own":
        # A rate that is above falls with answers that conform.
        needed = _needed(told, own, at_least=side > 0)
        return f"{place} the others' unless {needed} of its {_missing(own)}"
    needed = _needed(told, others, at_least=side < 0)
    whatever = "whatever its own missing answers are, but not if" if own else "unless"
    return f"{place} the others' {whatever} {needed} of the others' {_missing(others)}"


def plausible_tipping_words(row: Mapping[str, Any]) -> str:
    """Return tipping_words where a group's own missing answers could well be so.

    That is where fewer than all need conform, or at most MOST_FAULTY be nonconforming;
    else empty: a table of what cannot be would hide what can.
    """
    if not row["tips_side"] or row["tips_by"] != "own":
        return ""
    conforming, missing = row["tips_conforming"], row["missing"]
    could = (
        conforming < missing
        if row["tips_side"] > 0
        else missing - conforming <= MOST_FAULTY * missing
    )
    return tipping_words(row) if could else ""


def tipping_sentence(name: str, row: Mapping[str, Any]) -> str:
    """Return the sentence with the group's name; empty where there is none."""
    said = tipping_words(row)
    return f"{name}'s plain rate is {said}." if said else ""


def _missing(number: int) -> str:
    verb = "conforms" if number == 1 else "conform"
    return f"{words.plural(number, 'missing answer')} {verb}"


def _needed(number: int, of: int, *, at_least: bool) -> str:
    if at_least:
        return "all" if number == of else f"{_share(number, of)} or more"
    return "none" if number == 0 else f"{_share(number, of)} or fewer"


def _share(number: int, of: int) -> str:
    return f"{words.count(number)} ({words.percent(number / of)})"
