"""Which encoding a text that is not UTF-8 is in: the one that makes words of its bytes.

In another one signs stand within words, as in "G³êbokoœæ", or capitals behind small
letters, or letters of two scripts. That tells encodings apart whose letters lie where
others have signs; not those of which all letters are letters in both. So the words that
are read are shown.
"""

import re
import unicodedata
from collections.abc import Sequence
from itertools import pairwise

from etl.draft.said import Said

_USUAL = ("windows-1252", "latin-1")
_OTHERS = (
    *("windows-1250", "iso-8859-2", "windows-1251", "windows-1253", "windows-1254"),
    *("windows-1257", "ibm850", "macintosh"),
)
_WORD = re.compile(rb"[A-Za-z\x80-\xff]+")
_MOST_WORDS, _SHOWN, _LONG, _MOSTLY = 2_000, 2, 4, 2 / 3
# "Nº": a short word for "number", whose last sign is no letter of its own.
_ORDINAL = re.compile(r"[A-Za-z]?[ºª]")
# What may stand between two letters of one word.
_WITHIN_WORDS = "’‘–—·×\xad"


def encoding_by_words(text: bytes) -> Said[str]:
    """Return the encoding that makes words of a text's bytes, with some that it reads.

    The usual ones first. A guess where several others do, likely where one does.
    """
    words = [word for word in dict.fromkeys(_WORD.findall(text)) if not word.isascii()]
    words = words[:_MOST_WORDS]
    if not words:
        return Said(_USUAL[0], "likely", "not UTF-8 further down")
    read = {name: _decoded(words, name) for name in (*_USUAL, *_OTHERS)}
    [usual, *_] = [name for name in _USUAL if read[name]]
    odd = [place for place, word in enumerate(read[usual]) if not _is_word(word)]
    fitting = [
        name for name in _OTHERS if read[name] and all(map(_is_word, read[name]))
    ]
    if not odd or not fitting:
        return Said(usual, "likely", f"not UTF-8; it reads {_shown(read[usual])}")
    alike: dict[str, str] = {}
    for name in fitting:
        alike.setdefault(_shown([read[name][place] for place in odd]), name)
    instead = _shown([read[usual][place] for place in odd])
    [(shown, best), *others] = alike.items()
    reason = f"it reads {shown}, not {instead}"
    for other, name in others:
        reason += f"; {name} reads {other}"
    return Said(best, "guess" if others else "likely", reason)


def _decoded(words: Sequence[bytes], encoding: str) -> list[str]:
    """Return the words in an encoding; none where it has no sign for a byte."""
    try:
        return [word.decode(encoding) for word in words]
    except UnicodeDecodeError:
        return []


def _is_word(word: str) -> bool:
    """Say whether signs that follow one another may be a word, or stand beside one."""
    if _ORDINAL.fullmatch(word):
        return True
    letters = [sign for sign in word if sign.isalpha()]
    if any(unicodedata.category(sign) == "Cc" for sign in word):
        return False
    scripts = {unicodedata.name(sign, "").partition(" ")[0] for sign in letters}
    foreign = sum(not sign.isascii() for sign in letters)
    # A Latin word has letters of the alphabet, too.
    is_long = len(letters) >= _LONG and scripts == {"LATIN"}
    is_strange = is_long and foreign > _MOSTLY * len(letters)
    return len(scripts) <= 1 and not is_strange and not _has_odd_sign(word)


def _has_odd_sign(word: str) -> bool:
    is_within = any(
        before.isalpha() and behind.isalpha() and not _may_be_within(sign)
        for before, sign, behind in zip(word, word[1:], word[2:], strict=False)
    )
    return is_within or any(
        first.islower() and second.isupper() and not second.isascii()
        for first, second in pairwise(word)
    )


def _may_be_within(sign: str) -> bool:
    return sign.isalpha() or sign in _WITHIN_WORDS


def _shown(words: Sequence[str]) -> str:
    """Return some of the words, such of letters first: of N° and Équipe the second."""
    lettered = sorted(words, key=lambda word: all(map(_is_usual, word)))
    return ", ".join(map(repr, lettered[:_SHOWN]))


def _is_usual(sign: str) -> bool:
    return sign.isascii() or not sign.isalpha()
