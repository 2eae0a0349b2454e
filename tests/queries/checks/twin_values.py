"""Values of the twin: blank (None), unreadable, clear, and lengths by their letter."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

UNREADABLE = "\N{REPLACEMENT CHARACTER}"
INFINITE = Fraction(10**12)
Row = Mapping[str, Any]
# verdict, margin (None where it has none), direction
Judged = tuple[str, Fraction | None, str | None]

# Length letters: A starts at 1.5 in, half inches up to Q, whole inches from R (10 in);
# each up to but not including the next (US practice, from memory).
STARTS = [Fraction(3 + i, 2) for i in range(17)] + [Fraction(10 + i) for i in range(10)]
LETTERS = {
    chr(ord("A") + i): (STARTS[i] * Fraction("25.4"), STARTS[i + 1] * Fraction("25.4"))
    for i in range(26)
}


def known(value: Any) -> Any:
    return None if value == UNREADABLE else value


def lost(row: Row, *names: str) -> str:
    """What a check without an answer is called."""
    is_torn = any(row[name] == UNREADABLE for name in names)
    return "unreadable" if is_torn else "unrecorded"


def has_letters(need: Row) -> bool:
    """Whether an anchor's marks are those letters: any other is its maker's own."""
    mark = need["length_mark"]
    if mark is None:
        return not str(need["anchor_size"]).startswith("M")
    low, high = LETTERS.get(mark, (INFINITE, INFINITE))
    return bool(low <= need["anchor_length_mm"] < high)


def lengths(row: Row, need: Row) -> tuple[Fraction, Fraction, bool] | None:
    """Shortest, longest, and whether the longest itself is excluded."""
    length = known(row["anchor_length_mm"])
    if length is not None:
        return length, length, False
    if row["length_mark"] in LETTERS and has_letters(need):
        return (*LETTERS[row["length_mark"]], True)
    return None
