"""Marks beside a figure, as `58 i.O.`: a site's own verdict, which is not read."""

import re
import unicodedata
from collections.abc import Sequence

from etl.site_map.faults import Faults, shown
from etl.units import unit_named

MARK_KEYS = ("marks",)
MOST_MARKS = 20
_LONGEST = 20
# Words that change what a figure says; with them it is none. Common practice, no
# source.
_QUALIFIERS = frozenset(
    [
        "about",
        "approx",
        "approximately",
        "ca",
        "circa",
        "env",
        "environ",
        "etwa",
        "max",
        "maximum",
        "min",
        "minimum",
        "mind",
        "mindestens",
        "höchstens",
        "bis",
        "desde",
        "from",
        "hasta",
        "to",
        "up",
        "minus",
        "plus",
        "over",
        "under",
        "über",
        "unter",
    ]
)


def may_be_mark(mark: str) -> bool:
    """Say whether a text beside a figure may be left away: a word or sign of its own.

    Not one with digits, a unit, a sign that numbers are written with, or a word such
    as `ca.` and `min`, which changes what the figure says.
    """
    said = mark.strip()
    words = re.findall(r"[^\W\d_]+", said.casefold())
    has_sign = any(
        letter in "*†‡" or unicodedata.category(letter) in ("So", "Sm")
        for letter in said
    )
    return (
        0 < len(said) <= _LONGEST
        and not any(letter.isdigit() or letter in "<>=≤≥≈±~°%+" for letter in said)
        and bool(words or has_sign)
        and unit_named(said) is None
        and _QUALIFIERS.isdisjoint(words)
    )


def read_marks(name: str, spec: dict[str, object], faults: Faults) -> tuple[str, ...]:
    """Return the marks that may stand beside the figures of a column; add faults."""
    if "marks" not in spec:
        return ()
    given = spec["marks"]
    listed = given if isinstance(given, list) else []
    if (
        listed
        and len(listed) <= MOST_MARKS
        and all(isinstance(mark, str) and may_be_mark(mark) for mark in listed)
    ):
        return tuple(str(mark).strip() for mark in listed)
    faults.add(
        ("columns", name, "marks"),
        f"[columns] {name} marks = {shown(given)}: expected words or signs beside the "
        f'figures that are no part of them, such as ["OK", "✓"], {MOST_MARKS} at most; '
        "no digits, no units, no signs of numbers, no words that change a figure, as "
        '"ca." or "min"',
    )
    return ()


def mark_patterns(marks: Sequence[str]) -> tuple[str, str]:
    """Return what to replace by `\\1` before and behind a figure, as RE2 reads it.

    A mark of letters ends, or begins, where no other letter stands beside it.
    """
    ending = _parted(marks, [mark[-1].isalpha() for mark in marks])
    begun = _parted(marks, [mark[0].isalpha() for mark in marks])
    # With a group in any case, for the replacement names it.
    before = [f"{ending[0]}([^\\p{{L}}])" if ending[0] else "", ending[1]]
    behind = [f"([^\\p{{L}}]){begun[0]}" if begun[0] else "", begun[1]]
    return (
        f"(?i)^\\s*(?:{'|'.join(filter(None, before))})" + ("" if ending[0] else "()"),
        f"(?i)(?:{'|'.join(filter(None, behind))})\\s*$" + ("" if begun[0] else "()"),
    )


def _parted(marks: Sequence[str], are_letters: Sequence[bool]) -> tuple[str, str]:
    """Return the patterns of marks with a letter there, and of the others; or none."""
    told = list(zip(marks, are_letters, strict=True))
    letters = _any_of([mark for mark, is_letter in told if is_letter])
    return letters, _any_of([mark for mark, is_letter in told if not is_letter])


def _any_of(marks: Sequence[str]) -> str:
    longest_first = sorted(map(re.escape, marks), key=len, reverse=True)
    return f"(?:{'|'.join(longest_first)})" if marks else ""
