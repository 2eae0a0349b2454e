"""What a reader wants of every page: which edition, units, and way of writing numbers.

It stands in the address beside the filters (`edition=12&units=inch&lang=de`) and
holds for all that is made for one request: each link carries it on, each number follows
it. Handed from function to function it would be an argument of every one of them, and a
link that forgot it would silently show other figures; so it stands in a context
variable, set once a request and never changed within it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from urllib.parse import quote, unquote_plus

from dashboard.language import (
    HOUSE,
    LANGUAGES,
    Language,
    accepted_language,
    language_of,
)

METRIC = "metric"
INCH = "inch"
LONGEST_SEARCH = 8_000
# The names of the address that are no filter; as CARRIED of assets/firmset.js.
CARRIED = ("edition", "units", "lang")
# Editions are numbered by hand nowhere: nine digits are more than any store reaches.
MOST_DIGITS = 9


@dataclass(frozen=True)
class Wish:
    """What the address asks for besides its page and filters.

    `edition_id` None is the newest; `lang` is what the address pins, `language` what
    holds. `problems` says what was not understood.
    """

    edition_id: int | None = None
    units: str = METRIC
    lang: str | None = None
    language: Language = HOUSE
    problems: tuple[str, ...] = ()

    @property
    def pairs(self) -> dict[str, list[str]]:
        """What a link has to carry on, by the names of the address."""
        return {
            "edition": [] if self.edition_id is None else [str(self.edition_id)],
            "units": [] if self.units == METRIC else [self.units],
            "lang": [] if self.lang is None else [self.lang],
        }


NOTHING = Wish()
_wish: ContextVar[Wish] = ContextVar("wish", default=NOTHING)


def wish() -> Wish:
    """Return what is wanted of whatever is being made."""
    return _wish.get()


@contextmanager
def wishing(wanted: Wish) -> Iterator[Wish]:
    """Make everything within as it is wanted."""
    token = _wish.set(wanted)
    try:
        yield wanted
    finally:
        _wish.reset(token)


def asked_wish(search: str, accept_language: str = "") -> Wish:
    """Return what the query string of an address wants; never raises.

    `accept_language`: the header of that name, which counts where the address pins no
    language.
    """
    if len(search) > LONGEST_SEARCH:
        return NOTHING  # parse_view says that it is too long.
    given = split_search(search)
    problems: list[str] = []
    lang = _lang(given.get("lang", []), problems)
    return Wish(
        edition_id=_edition(given.get("edition", []), problems),
        units=_units(given.get("units", []), problems),
        lang=lang,
        language=(language_of(lang) if lang else None)
        or accepted_language(accept_language),
        problems=tuple(problems),
    )


def split_search(search: str) -> dict[str, list[str]]:
    """Return the values of each name; commas part values, one within a value is %2C."""
    given: dict[str, list[str]] = {}
    for pair in search.removeprefix("?").split("&"):
        name, _, value = pair.partition("=")
        items = [unquote_plus(item).strip() for item in value.split(",")]
        given.setdefault(unquote_plus(name), []).extend(filter(None, items))
    return given


def other_address(pathname: str, search: str, **changed: str | None) -> str:
    """Return an address with some of CARRIED changed (None: taken away)."""
    kept = [
        pair
        for pair in search.removeprefix("?").split("&")
        if pair and unquote_plus(pair.partition("=")[0]) not in changed
    ]
    kept += [
        f"{name}={quote(value, safe='')}" for name, value in changed.items() if value
    ]
    return pathname + ("?" + "&".join(kept) if kept else "")


def _edition(values: list[str], problems: list[str]) -> int | None:
    text = ",".join(values)
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS and int(text):
        return int(text)
    problems.append(
        f"The address asks for edition “{text[:60]}”; expected its number. This is "
        "the newest."
    )
    return None


def _lang(values: list[str], problems: list[str]) -> str | None:
    text = ",".join(values)
    if not text or language_of(text):
        return text or None
    problems.append(
        f"The address asks for the language “{text[:60]}” of numbers and dates; "
        f"expected one of {', '.join(LANGUAGES)}. The browser's is taken."
    )
    return None


def _units(values: list[str], problems: list[str]) -> str:
    text = ",".join(values) or METRIC
    if text in (METRIC, INCH):
        return text
    problems.append(
        f"The address asks for units “{text[:60]}”; expected {METRIC} or {INCH}. "
        "They are millimetres and newton metres."
    )
    return METRIC
