"""Dates with the month's name: 4-mag-26, 4. Mai 2026, May 4, 2026.

The months of English, German, French, Spanish, Portuguese, Italian and Dutch, from
common knowledge (no published source). No name or short form of one language is
another month in another, so that such a date has one reading.
"""

import re
import unicodedata
from datetime import date

_NAMES = (
    "january januar janvier enero janeiro gennaio januari jan ene janv gen janner",
    "february februar fevrier febrero fevereiro febbraio februari feb fev fevr",
    "march marz mars marzo marco maart mar mrz mrt maerz",
    "april avril abril aprile apr avr abr",
    "may mai mayo maio maggio mei mag",
    "june juni juin junio junho giugno jun giu",
    "july juli juillet julio julho luglio jul juil lug",
    "august aout agosto augustus aug ago",
    "september septembre septiembre setiembre setembro settembre sep sept set sett",
    "october oktober octobre octubre outubro ottobre oct okt out ott",
    "november novembre noviembre novembro nov",
    "december dezember decembre diciembre dezembro dicembre dec dez dic",
)
_MONTHS = {
    name: month for month, names in enumerate(_NAMES, start=1) for name in names.split()
}
# The first language of each line, as strptime has them.
ENGLISH = frozenset(
    word for names in _NAMES for name in names.split()[:1] for word in (name, name[:3])
)

_NAME = r"(?P<name>[^\W\d_]{3,10})\.?"
_WEEKDAY = r"(?:[^\W\d_]{2,10}\.?,? )?"
_DAY = r"(?P<day>[0-9]{1,2})"
# Followed by a time of day, if by anything.
_FORMS = (
    (
        rf"{_WEEKDAY}{_DAY}(?:st|nd|rd|th|er|[ºª°])?[ /.-]{{0,2}}(?:de |of )?{_NAME}"
        r"[ /.,-]{0,2}(?:del? )?(?P<year>[0-9]{4}|[0-9]{2})"
    ),
    rf"{_WEEKDAY}{_NAME} {_DAY}(?:st|nd|rd|th)?,? (?P<year>[0-9]{{4}})",
    rf"(?P<year>[0-9]{{4}})[ /.-]{_NAME}[ /.-]{_DAY}",
)


def month_of(name: str) -> int | None:
    """Return the month that a word names, counted from 1; None: it names none."""
    bare = unicodedata.normalize("NFKD", name.rstrip(".").casefold())
    return _MONTHS.get(
        "".join(sign for sign in bare if not unicodedata.combining(sign))
    )


def forms_followed_by(after: str) -> tuple[re.Pattern[str], ...]:
    """Return the forms of such dates in small letters, each followed by `after`."""
    return tuple(re.compile(f"{form}{after}") for form in _FORMS)


def day_named(found: re.Match[str], year: int) -> date | None:
    """Return the day of a match of these forms; None where there is no such day."""
    month = month_of(found["name"])
    try:
        return date(year, month, int(found["day"])) if month else None
    except ValueError:
        return None
