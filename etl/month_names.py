"""Dates with the month's name: 4-mag-26, 4. Mai 2026, May 4, 2026.

The months of English, German, French, Spanish, Portuguese, Italian and Dutch, from
common knowledge (no published source). No name or short form of one language is
another month in another, so that such a date has one reading.
"""

import re
import unicodedata
from collections.abc import Iterable
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

# What may stand before a date, Monday first. Any other word may change what it says,
# as "before".
_WEEKDAY_NAMES = (
    "monday mon montag mo lundi lun lunes segunda seg lunedi maandag ma",
    "tuesday tue tues dienstag di mardi mar martes terca ter martedi dinsdag",
    (
        "wednesday wed mittwoch mi mercredi mer miercoles mie quarta qua mercoledi "
        "woensdag wo"
    ),
    (
        "thursday thu thur thurs donnerstag do jeudi jeu jueves jue quinta qui giovedi "
        "gio donderdag"
    ),
    "friday fri freitag fr vendredi ven viernes vie sexta sex venerdi vrijdag vr",
    "saturday sat samstag sonnabend sa samedi sam sabado sab sabato zaterdag za",
    "sunday sun sonntag so dimanche dim domingo dom domenica zondag zo",
)
_WEEKDAYS = {
    name: weekday
    for weekday, names in enumerate(_WEEKDAY_NAMES)
    for name in names.split()
}
_WEEKDAY_BEFORE = re.compile(r"(?P<word>[^\W\d_]{2,10})(?:-feira)?\.?,? (?=\S)")

_NAME = r"(?P<name>[^\W\d_]{3,10})\.?"
_DAY = r"(?P<day>[0-9]{1,2})"
# Followed by a time of day, if by anything.
_FORMS = (
    (
        rf"{_DAY}(?:st|nd|rd|th|er|[ºª°])?[ /.-]{{0,2}}(?:de |of )?{_NAME}"
        r"[ /.,-]{0,2}(?:del? )?(?P<year>[0-9]{4}|[0-9]{2})"
    ),
    rf"{_NAME} {_DAY}(?:st|nd|rd|th)?,? (?P<year>[0-9]{{4}})",
    rf"(?P<year>[0-9]{{4}})[ /.-]{_NAME}[ /.-]{_DAY}",
)


def is_of_calendar(word: str) -> bool:
    """Say whether a word names a month or a weekday, or is short for one."""
    return _bare(word) in _MONTHS or _bare(word.removesuffix("-feira")) in _WEEKDAYS


def months_named(months: Iterable[int]) -> list[str]:
    """Return the names of months and what is short for them, without accents."""
    return [name for month in months for name in _NAMES[month - 1].split()]


def weekday_before(text: str) -> tuple[int, str] | None:
    """Return the weekday that a text begins with, 0 for Monday, and what follows it."""
    found = _WEEKDAY_BEFORE.match(text)
    weekday = _WEEKDAYS.get(_bare(found["word"])) if found else None
    return None if found is None or weekday is None else (weekday, text[found.end() :])


def _bare(word: str) -> str:
    """Return a word without its full stop, capitals and accents."""
    return bare_text(word.rstrip("."))


def bare_text(text: str) -> str:
    """Return a text without capitals and accents, as the names here are."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in parts if not unicodedata.combining(sign))


def is_of_month(found: re.Match[str]) -> bool:
    """Say whether a match of these forms names a month."""
    return _bare(found["name"]) in _MONTHS


def forms_followed_by(after: str) -> tuple[re.Pattern[str], ...]:
    """Return the forms of such dates in small letters, each followed by `after`."""
    return tuple(re.compile(f"{form}{after}") for form in _FORMS)


def day_named(found: re.Match[str], year: int) -> date | None:
    """Return the day of a match of these forms; None where there is no such day."""
    try:
        return date(year, _MONTHS[_bare(found["name"])], int(found["day"]))
    except ValueError:
        return None
