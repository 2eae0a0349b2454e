"""How well a header, and the values under it, suit a canonical column."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from etl.draft.looks import Looks
from etl.draft.numbers import Reading, header_readings, is_read
from etl.draft.words import Tokens, code_words, plain, words
from etl.units import FACTORS
from queries.columns import COLUMN_BY_NAME, Column

_HINT = 0.75
# No anchor is called Yes; a crew may be called N.
_ANCHORS = {"setting_code", "anchor_type_code"}
# A name beside another language's: likely, where the values suit.
_BESIDE = 0.8
_BESIDES = re.compile(r"[/|\n]")
_FEW_BESIDE = 0.1
_GUESS = 0.5
_BY_UNIT = {"Nm": "setting_torque_nm", "MPa": "concrete_mpa"}
_LONGEST_HEADER = 200
# Of these a number is the code, or the count: "wrench no." says no more than "wrench",
# and of people the name is the code.
_HAVE_NUMBERS = {
    *("crew_code", "installer_code", "inspector_code", "wrench_code", "bit_code"),
    *("brush_count", "blow_count"),
}
_NUMBER_WORDS = {"number", "code", "id", "ref", "reference", "serial"}
_HAVE_NAMES = {"crew_code", "installer_code", "inspector_code"}
_NAME_WORDS = {"name", "names", "nom", "noms", "nombre", "nombres"}


@dataclass(frozen=True)
class Match:
    """A header and a column: how well its words and values fit, from 0 to 1.

    `unit` is the unit that the header or the cells name. `reason` says what speaks
    against the values. `is_held`: the store holds the values as such codes.
    """

    name_fit: float
    value_fit: float
    unit: str | None = None
    reason: str = ""
    is_held: bool = False

    @property
    def total(self) -> float:
        """Return the fit of both; without words or against the values it is small."""
        return self.name_fit * (0.35 + 0.65 * self.value_fit) if self.value_fit else 0.0


def match(header: str, looks: Looks, column: Column, units: str | None) -> Match:
    """Return how well a header and its cells suit a column.

    `units` is what a row of units under the headers says, if there is one.
    """
    if header.strip().lower() == column.name:
        # Our own name for it, as of an empty log.
        valued, reason = value_fit(column, looks)
        return Match(1.0, valued, column.unit, reason)
    readings = header_readings(header[:_LONGEST_HEADER])
    if units and readings[0].unit is None:
        readings = (Reading(readings[0].words, units),)
    best = Match(0.0, 0.0)
    for reading in readings:
        if not _suits(reading, column):
            continue
        named = name_fit(reading.words, column.name) or _unit_fit(reading, column)
        if named and _is_named_beside(header, looks, column.name):
            named = max(named, _BESIDE)
        valued, reason = value_fit(column, looks)
        if reading.unit is None and column.unit is not None:
            reason = reason or looks.bare_doubt
        unit = reading.unit or looks.unit_told
        found = Match(named, valued, unit, reason)
        best = max(best, found, key=lambda one: (one.total, one.unit is not None))
    return best


def _is_named_beside(header: str, looks: Looks, column_name: str) -> bool:
    """Say whether a header names a column beside what nobody here can read.

    As "Mélység / Depth" does, unless the cells have two values as well.
    """
    said = [header_readings(part)[0].words for part in _BESIDES.split(header)]
    # A number is no word of any language.
    parts = [words for words in said if any(map(str.isalpha, "".join(words)))]
    cells = sum(bool(_BESIDES.search(cell)) for cell in looks.filled)
    if len(parts) < 2 or cells > _FEW_BESIDE * len(looks.filled):
        return False
    others = [part for part in parts if name_fit(part, column_name) < 1.0]
    return len(others) < len(parts) and not any(
        name_fit(part, name) >= _HINT for part in others for name in COLUMN_BY_NAME
    )


def _suits(reading: Reading, column: Column) -> bool:
    """A unit in the header rules out the columns that are not measured in such."""
    if reading.unit is None:
        return True
    if not is_read(reading.unit):
        return column.kind == "number"
    return column.unit == FACTORS[reading.unit][0]


def _unit_fit(reading: Reading, column: Column) -> float:
    """Return how well a unit alone names a column: a guess, where nothing else would.

    Most of what a log has in newton metres is the torque at setting, "Applied (Nm)".
    """
    if reading.unit is None or not is_read(reading.unit):
        return 0.0
    is_its_unit = _BY_UNIT.get(FACTORS[reading.unit][0]) == column.name
    return (
        _GUESS if is_its_unit and not _is_against(reading.words, column.name) else 0.0
    )


@cache
def name_fit(header: Tokens, column_name: str) -> float:
    """Return how well a header's words name a column: 1 where a name is all of them."""
    if _is_against(header, column_name):
        return 0.0
    known = words().columns[column_name]
    if column_name in _HAVE_NUMBERS:
        idle = _NUMBER_WORDS | (_NAME_WORDS if column_name in _HAVE_NAMES else set())
        codes = (word for word in header if word.rstrip(".") not in idle)
        header = tuple(codes) or header
    if _is_named_again(known.names, header):
        return 1.0
    names = max((_phrase_fit(phrase, header) for phrase in known.names), default=0.0)
    hints = max((_phrase_fit(phrase, header) for phrase in known.hints), default=0.0)
    return max(names, _HINT * hints)


def _is_named_again(names: Iterable[Tokens], header: Tokens) -> bool:
    """Say whether names of a column are all that a header says, in several languages.

    As "Bohrtiefe / Hole depth" and "Datum / Date" do.
    """
    once = tuple(dict.fromkeys(header))
    covered = set[int]().union(*(_covered(phrase, once) for phrase in names))
    return 0 < len(once) == len(covered)


def is_specified(header: str, what: str) -> bool:
    """Say whether all words of a header are those of what is specified of an anchor."""
    return _is_all_of(header, words().specified[what])


def is_site(header: str) -> bool:
    """Say whether all words of a header are those of a site or project."""
    return _is_all_of(header, words().sites)


def week_way(header: str) -> str | None:
    """Return "from" or "to" where a header names a week by its first or last day."""
    ways = (way for way, said in words().weeks.items() if _is_all_of(header, said))
    return next(ways, None)


def is_count(header: str) -> bool:
    """Say whether a header says how many anchors a row is."""
    return plain(header) in words().counts


def may_count(header: str) -> bool:
    """Say whether a header that is not a row's number says how many anchors it is."""
    return is_count(header) or plain(header) in words().counts_or_numbers


def _is_all_of(header: str, phrases: Iterable[Tokens]) -> bool:
    return any(
        _phrase_fit(phrase, reading.words) == 1.0
        for reading in header_readings(header[:_LONGEST_HEADER])
        for phrase in phrases
    )


def _is_against(header: Tokens, column_name: str) -> bool:
    against = words().columns[column_name].against
    return any(_covered(phrase, header) for phrase in against)


def _phrase_fit(phrase: Tokens, header: Tokens) -> float:
    covered = _covered(phrase, header)
    if not covered:
        return 0.0
    if len(covered) == len(header):
        return 1.0
    # A word more may make it another column: "delivery date", "design torque".
    return 0.4 + 0.5 * len(covered) / len(header)


def _covered(phrase: Tokens, header: Tokens) -> set[int]:
    """Return the places in the header of a phrase's words; empty if one is missing."""
    places = set[int]()
    for token in phrase:
        found = next(
            (
                place
                for place, word in enumerate(header)
                if place not in places and _is_same(word, token)
            ),
            None,
        )
        if found is None:
            return set()
        places.add(found)
    return places


def _is_same(word: str, token: str) -> bool:
    """A word ending in a full stop may be short for a longer one."""
    bare = word.rstrip(".")
    return bare == token.rstrip(".") or (
        word.endswith(".") and len(bare) >= 3 and token.startswith(bare)
    )


def value_fit(column: Column, looks: Looks) -> tuple[float, str]:
    """Return how well values suit a column, 0 where they cannot be it, and why not."""
    if not looks.filled:
        return 0.7, "no values in the sample"
    match column.kind:
        case "number":
            clear = looks.clear_share if column.is_clearable else 0.0
            minutes = looks.minutes_share if column.unit == "s" else 0.0
            share = looks.number_share + clear + minutes
            return _by_share(share, "numbers")
        case "integer":
            return _by_share(looks.whole_share, "whole numbers")
        case "date":
            share = looks.date_share - 0.3 * looks.instant_share
            days = looks.day_number_share(has_time=False)
            return _by_share(share + days, "dates")
        case "instant":
            share = looks.instant_share + looks.day_number_share(has_time=True)
            if column.name == "recheck_at":
                share = looks.date_share
            return _by_share(share + looks.counted_share, "dates with a time")
        case "time":
            return _by_share(looks.time_share, "times of day")
        case "yes_no" | "choice":
            return _words_fit(column, looks)
        case _:
            return _text_fit(column, looks)


def _by_share(share: float, what: str) -> tuple[float, str]:
    if share >= 0.95:
        return 1.0, ""
    if share < 0.5:
        return 0.0, f"only {share:.0%} of the values are {what}"
    return share - 0.1, f"{share:.0%} of the values are {what}"


def _words_fit(column: Column, looks: Looks) -> tuple[float, str]:
    share = looks.word_share(code_words(column.name))
    if column.name == "outcome" and words().verdicts.issuperset(looks.counts):
        return 0.0, "the values are what somebody thought of it"
    if share >= 0.95:
        return 1.0, ""
    is_dated = looks.date_share > 0.5 or looks.time_share > 0.5
    if is_dated or looks.number_share > 0.5 or len(looks.counts) > 12:
        return 0.0, "the values are no words for it"
    return 0.6 + 0.3 * share, f"{1 - share:.0%} of the values are words not known"


def _text_fit(column: Column, looks: Looks) -> tuple[float, str]:
    is_dated = looks.date_share > 0.5 or looks.time_share > 0.5
    if is_dated:
        return 0.0, "the values are dates or times"
    if column.name == "record_id":
        if looks.distinct_share >= 0.9:
            return 1.0, ""
        repeated = 1 - looks.distinct_share
        # Numbers may begin again, every day or for every crew (etl/draft/within.py).
        fit = 0.6 if looks.whole_share > 0.9 else 0.5 if repeated < 0.5 else 0.0
        return fit, f"{repeated:.0%} of the values repeat"
    if column.kind == "text":
        return 1.0, ""
    if column.name in _ANCHORS and looks.answer_share >= 0.95:
        return 0.0, "the values are answers"
    has_decimals = looks.number_share - looks.whole_share > 0.1
    is_figure = column.name == "setting_code" and looks.number_share > 0.5
    if has_decimals or is_figure:
        return 0.4, "the values are figures, not codes"
    if looks.short_share < 0.5:
        return 0.0, "the values are long texts"
    if len(looks.filled) >= 20 and looks.distinct_share > 0.9:
        return 0.3, "nearly every value is another"
    return 1.0, ""
