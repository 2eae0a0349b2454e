"""The words that stand in a column, and what they are in ours."""

import re
from dataclasses import dataclass

from etl.draft.looks import Looks
from etl.draft.numbers import measured
from etl.draft.words import code_words, plain
from queries.columns import Column

# What a load reads without being told.
_READ_AS_YES_NO = {"yes", "y", "true", "1", "no", "n", "false", "0"}
_MOST_WORDS = 30
# Hardly the codes of setting data, but the words that a crew has for them.
_SPOKEN = re.compile(r"[\s/\"']")


@dataclass(frozen=True)
class Codes:
    """`known`: the site's words with ours. `unknown`: words that have to be asked.

    Words that a load reads by itself are in neither.
    """

    known: dict[str, str]
    unknown: tuple[str, ...]


def codes_of(column: Column, looks: Looks) -> Codes:
    """Return the codes of a column; none for one that takes any word."""
    if column.name == "setting_code":
        spoken = (" ".join(cell.split()) for cell in looks.filled)
        found = dict.fromkeys(cell for cell in spoken if _SPOKEN.search(cell))
        return Codes({}, tuple(found)[:_MOST_WORDS])
    ours_by_word = code_words(column.name)
    known: dict[str, str] = {}
    unknown: dict[str, None] = {}
    seen = _read_by_itself(column)
    for cell in looks.filled if ours_by_word else ():
        word = " ".join(cell.split())
        if word.lower() in seen:
            continue
        seen.add(word.lower())
        if column.kind == "number" and measured(word, looks.decimal):
            continue
        ours = ours_by_word.get(plain(word))
        if ours is not None:
            known[word] = ours
        elif len(unknown) < _MOST_WORDS:
            unknown[word] = None
    return Codes(known, tuple(unknown))


def _read_by_itself(column: Column) -> set[str]:
    if column.kind == "choice":
        return set(column.choices)
    return set(_READ_AS_YES_NO) if column.kind == "yes_no" else {"clear"}
