"""The words of words.toml and values.toml, and how headers and cells compare."""

import re
import tomllib
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

from queries.columns import COLUMN_BY_NAME

FILES = ("words.toml", "values.toml")

Tokens = tuple[str, ...]

_HUMPS = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])")
_DIAMETER_SIGN = re.compile(r"(?<!\w)[øØ⌀](?!\w)")
NUMBER_SIGN = re.compile(r"(?<![^\W_])n\.?\s?[°º]", re.IGNORECASE)
# What may be answered, behind the question itself: "Cleaned (Y/N)".
_ANSWERS = re.compile(
    r"\b(?:y ?/ ?n|yes ?/ ?no|j ?/ ?n|ja ?/ ?nein|o ?/ ?n|oui ?/ ?non|s[ií] ?/ ?no"
    r"|tak ?/ ?nie|ano ?/ ?ne|ja ?/ ?nej|ja ?/ ?nei)\b",
    re.IGNORECASE,
)
_POSSESSIVE = re.compile(r"(?<=\w)['\N{RIGHT SINGLE QUOTATION MARK}]s\b", re.IGNORECASE)
_SERIAL_NUMBER = re.compile(r"\bs ?/ ?no?\b", re.IGNORECASE)
_LETTERS = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "#": " no "})
_UMLAUTS = re.compile("(?<=[aou])e")
# Of what is done a tick says that it was; of a worn bit that it was looked at, or worn.
_DONE = ("vacuumed", "cleaned")
# A full stop stays with its word: it may mark an abbreviation.
_TOKEN = re.compile(r"[^\W_]+\.?")


@dataclass(frozen=True)
class ColumnWords:
    """What says that a header is this column, each phrase as tokens."""

    names: tuple[Tokens, ...]
    hints: tuple[Tokens, ...]
    against: tuple[Tokens, ...]
    usual: tuple[float, float] | None


@dataclass(frozen=True)
class Words:
    """All of the words. `codes` gives ours by the site's word, per kind of code.

    `specified`: what says of an anchor which one was specified, by "size", "embedment".
    `verdicts`: what people write who have looked at it. `sites`: what names a site,
    `weeks` a week, by its day "from" or "to", `counts` how many anchors there are,
    `counts_or_numbers` either that or which they are.
    """

    columns: dict[str, ColumnWords]
    codes: dict[str, dict[str, str]]
    unit_by_sign: dict[str, str]
    weak_signs: frozenset[str]
    specified: dict[str, tuple[Tokens, ...]]
    verdicts: frozenset[str]
    sites: tuple[Tokens, ...]
    weeks: dict[str, tuple[Tokens, ...]]
    counts: frozenset[str]
    counts_or_numbers: frozenset[str]


@cache
def words() -> Words:
    """Return the words, read once."""
    raw = _raw()
    return Words(
        columns={name: _column_words(name, raw) for name in _names()},
        codes={
            kind: {
                plain_or_sign(word): ours
                for ours, said in table.items()
                for word in said
            }
            for kind, table in raw["codes"].items()
        },
        unit_by_sign={
            sign: unit for unit, signs in raw["units"].items() for sign in signs
        },
        weak_signs=frozenset(raw["weak"]["units"]),
        specified={
            what: tuple(tokens(phrase) for phrase in phrases)
            for what, phrases in raw["specified"].items()
        },
        sites=tuple(map(tokens, raw["sites"]["names"])),
        weeks={
            way: tuple(tokens(phrase) for phrase in phrases)
            for way, phrases in raw["weeks"].items()
        },
        counts=frozenset(map(plain, raw["counts"]["names"])),
        counts_or_numbers=frozenset(map(plain, raw["counts"]["either"])),
        verdicts=frozenset(map(plain, raw["verdicts"]["words"])),
    )


def tokens(text: str) -> Tokens:
    """Return a text's words: folded, fillers dropped, abbreviations written out.

    Answers that are offered, as (Y/N), are no words of the question. A word that ends
    in a full stop keeps it.
    """
    asked = _ANSWERS.sub(" ", _SERIAL_NUMBER.sub(" serial no ", text))
    asked = _POSSESSIVE.sub("", asked)
    found = _TOKEN.findall(fold(_HUMPS.sub(" ", asked)))
    fillers, abbreviations = _small_words()
    full = [abbreviations.get(token.rstrip("."), token) for token in found]
    kept = [token for token in full if token.rstrip(".") not in fillers]
    return tuple(kept or full)


def fold(text: str) -> str:
    """Return a text without capitals and accents; ü and ue become u alike."""
    text = _DIAMETER_SIGN.sub(" diameter ", NUMBER_SIGN.sub(" no ", text)).casefold()
    parts = unicodedata.normalize("NFKD", text.translate(_LETTERS))
    bare = "".join(part for part in parts if not unicodedata.combining(part))
    return _UMLAUTS.sub("", bare)


@lru_cache(maxsize=1 << 16)
def plain(cell: str) -> str:
    """Return a cell as the words of [codes] are compared: folded words, one blank."""
    return " ".join(token.rstrip(".") for token in _TOKEN.findall(fold(cell)))


def plain_or_sign(cell: str) -> str:
    """Return a cell as `plain` does, but a sign alone, as ✓, as it stands."""
    return plain(cell) or cell.strip()


def code_words(column_name: str) -> dict[str, str]:
    """Return ours by the site's word for a column; empty where it takes no words."""
    column = COLUMN_BY_NAME[column_name]
    if column.kind == "choice":
        return words().codes[column_name]
    if column_name in _DONE:
        return words().codes["yes_no"] | words().codes["done"]
    if column.kind == "yes_no":
        return words().codes["yes_no"]
    return words().codes["distance"] if column.is_clearable else {}


def _names() -> list[str]:
    return list(COLUMN_BY_NAME)


@cache
def _raw() -> dict[str, dict[str, dict[str, list[str]]]]:
    here = Path(__file__).parent
    return {
        name: table
        for file_name in FILES
        for name, table in tomllib.loads((here / file_name).read_text("utf-8")).items()
    }


@cache
def _small_words() -> tuple[frozenset[str], dict[str, str]]:
    raw: dict[str, object] = dict(_raw())
    fillers, abbreviations = raw["fillers"], raw["abbreviations"]
    assert isinstance(fillers, list) and isinstance(abbreviations, dict)
    return (
        frozenset(fold(word) for word in fillers),
        {fold(short): fold(full) for short, full in abbreviations.items()},
    )


def _column_words(
    column_name: str, raw: dict[str, dict[str, dict[str, list[str]]]]
) -> ColumnWords:
    said = raw["columns"].get(column_name, {})
    phrases = {
        kind: tuple(tokens(phrase) for phrase in said.get(kind, []))
        for kind in ("names", "hints", "against")
    }
    required = raw["required"]
    if column_name in required["columns"]:
        phrases["against"] += tuple(map(tokens, required["words"]))
    usual = said.get("range")
    return ColumnWords(
        **phrases, usual=(float(usual[0]), float(usual[1])) if usual else None
    )
