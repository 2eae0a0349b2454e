"""The words that stand in a column, and what they are in ours."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import islice

from etl.draft.header import Header
from etl.draft.held import Held
from etl.draft.looks import Looks
from etl.draft.match import is_specified
from etl.draft.numbers import measured
from etl.draft.placed import Placed
from etl.draft.words import code_words, plain_or_sign
from queries.columns import Column

# What a load reads without being told.
_READ_AS_YES_NO = {"yes", "y", "true", "1", "no", "n", "false", "0"}
_MOST_WORDS = 30
# Hardly the codes of setting data, but the words that a crew has for them.
_SPOKEN = re.compile(r"[\s/\"']")


@dataclass(frozen=True)
class Codes:
    """`known`: the site's words with ours. `unknown`: words that have to be asked.

    Words that a load reads by itself are in neither. `may_be`: setting codes of the
    store that a word may be.
    """

    known: dict[str, str]
    unknown: tuple[str, ...]
    may_be: dict[str, tuple[str, ...]] = field(default_factory=dict)


def codes_of(column: Column, looks: Looks) -> Codes:
    """Return the codes of a column; none for one that takes any word."""
    if column.name == "setting_code":
        words = (" ".join(cell.split()) for cell in looks.filled)
        if not looks.held.settings:  # Any code may be one.
            words = (word for word in words if _SPOKEN.search(word))
        return _setting_words(words, looks.held)
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
        ours = ours_by_word.get(plain_or_sign(word))
        if ours is not None:
            known[word] = ours
        elif len(unknown) < _MOST_WORDS:
            unknown[word] = None
    return Codes(known, tuple(unknown))


def _setting_words(words: Iterable[str], held: Held) -> Codes:
    """Return the words that are no setting codes of the store, to be asked."""
    once = dict.fromkeys(words)
    unknown = (word for word in once if not held.has("setting_code", word))
    found = tuple(islice(unknown, _MOST_WORDS))
    may_be = {word: codes for word in found if (codes := held.may_be(word))}
    return Codes({}, found, may_be)


@dataclass(frozen=True)
class Part:
    """A column that alone, or with others, may be the setting code."""

    header: str
    looks: Looks


def together(
    placed: Sequence[Placed], header: Header, looks: Sequence[Looks]
) -> tuple[Part, ...]:
    """Return an anchor's type, size and specified embedment, those that there are.

    They may only together be its setting code; () where that has a column. Its length
    is left to its own: what was set may not be what was specified.
    """
    found = {one.column.name: one for one in placed}
    code, kind = found.get("setting_code"), found.get("anchor_type_code")
    if code and (code.said.is_active or code.ticked):
        return ()
    size = Part(code.header, code.looks) if code else _specified("size", header, looks)
    parts = (
        Part(kind.header, kind.looks) if kind else None,
        size,
        _specified("embedment", header, looks),
    )
    return tuple(part for part in parts if part is not None)


def _specified(what: str, header: Header, looks: Sequence[Looks]) -> Part | None:
    for place, name in enumerate(header.names):
        if any(is_specified(spoken, what) for spoken in header.spoken(place)):
            return Part(name, looks[place])
    return None


def codes_together(parts: Sequence[Part]) -> Codes:
    """Return what stands in several columns as one word, all of it to be asked."""
    rows = zip(*(one.looks.cells for one in parts), strict=True)
    words = (" ".join(" ".join(row).split()) for row in rows if all(row))
    return _setting_words(words, parts[0].looks.held)


def _read_by_itself(column: Column) -> set[str]:
    if column.kind == "choice":
        return set(column.choices)
    return set(_READ_AS_YES_NO) if column.kind == "yes_no" else {"clear"}
