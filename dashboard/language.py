"""How a reader's language writes numbers and dates; the words stay English.

The browser says which languages its reader wants (Accept-Language), `lang=de` in the
address says it for everybody who follows the link. English, and a language that is not
in the table, gets the house's way, which readers on either side of the Atlantic read
alike: a decimal point, a thin space between thousands (ISO 80000-1), dates as ISO 8601.
Separators and orders: Unicode CLDR, from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

THIN: Final = "\N{NARROW NO-BREAK SPACE}"
WIDE: Final = "\N{NO-BREAK SPACE}"
# What a header may be at most; browsers send some hundred characters.
LONGEST_HEADER = 1_000


@dataclass(frozen=True)
class Language:
    """`decimal` and `thousands` signs; `day` as strftime has it."""

    decimal: str = "."
    thousands: str = THIN
    day: str = "%Y-%m-%d"


HOUSE: Final = Language()
LANGUAGES: Final[Mapping[str, Language]] = {
    "en": HOUSE,
    "da": Language(",", ".", "%d.%m.%Y"),
    "de": Language(",", ".", "%d.%m.%Y"),
    "de-ch": Language(".", "\N{RIGHT SINGLE QUOTATION MARK}", "%d.%m.%Y"),
    "es": Language(",", ".", "%d/%m/%Y"),
    "fr": Language(",", THIN, "%d/%m/%Y"),
    "it": Language(",", ".", "%d/%m/%Y"),
    "nb": Language(",", WIDE, "%d.%m.%Y"),
    "nl": Language(",", ".", "%d-%m-%Y"),
    "pl": Language(",", WIDE, "%d.%m.%Y"),
    "pt": Language(",", ".", "%d/%m/%Y"),
    "sv": Language(",", WIDE, "%Y-%m-%d"),
}


def language_of(tag: str) -> Language | None:
    """Return the language of a tag such as de-CH or fr-CA; None if it is not known."""
    parts = tag.strip().lower().split("-")
    for length in range(len(parts), 0, -1):
        found = LANGUAGES.get("-".join(parts[:length]))
        if found:
            return found
    return None


def accepted_language(header: str) -> Language:
    """Return the most wanted known language of an Accept-Language header."""
    wanted: list[tuple[float, Language]] = []
    for item in header[:LONGEST_HEADER].split(","):
        tag, _, weight = item.partition(";")
        found = language_of(tag)
        if found:
            wanted.append((_weight(weight), found))
    # max takes the first of equals, as the header's order means it.
    best = max(wanted, key=lambda pair: pair[0], default=(0.0, HOUSE))
    return best[1] if best[0] > 0 else HOUSE


def _weight(text: str) -> float:
    try:
        return float(text.strip().removeprefix("q=") or 1)
    except ValueError:
        return 0.0
