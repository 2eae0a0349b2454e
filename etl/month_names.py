"""Dates with the month's name: 4-mag-26, 4. Mai 2026, May 4, 2026.

The months of English, German, French, Spanish, Portuguese, Italian, Dutch, Polish,
Czech, Swedish, Danish and Norwegian, as the Unicode CLDR has them. No name or short
form of one language is another month in another, so that such a date has one reading.
"""

import re
import unicodedata
from collections.abc import Iterable
from datetime import date

_NAMES = (
    (
        "january januar janvier enero janeiro gennaio januari jan ene janv gen "
        "janner styczen stycznia sty leden ledna led"
    ),
    (
        "february februar fevrier febrero fevereiro febbraio februari feb fev "
        "fevr luty lutego lut unor unora uno"
    ),
    (
        "march marz mars marzo marco maart mar mrz mrt maerz marts marzec marca "
        "brezen brezna bre"
    ),
    ("april avril abril aprile apr avr abr kwiecien kwietnia kwi duben dubna dub"),
    "may mai mayo maio maggio mei mag maj maja kveten kvetna kve",
    (
        "june juni juin junio junho giugno jun giu czerwiec czerwca cze cerven "
        "cervna cvn"
    ),
    (
        "july juli juillet julio julho luglio jul juil lug lipiec lipca lip "
        "cervenec cervence cvc"
    ),
    (
        "august aout agosto augustus aug ago augusti sierpien sierpnia sie "
        "srpen srpna srp"
    ),
    (
        "september septembre septiembre setiembre setembro settembre sep sept "
        "set sett wrzesien wrzesnia wrz zari zar"
    ),
    (
        "october oktober octobre octubre outubro ottobre oct okt out ott "
        "pazdziernik pazdziernika paz rijen rijna rij"
    ),
    ("november novembre noviembre novembro nov listopad listopada listopadu lis"),
    (
        "december dezember decembre diciembre dezembro dicembre dec dez dic "
        "grudzien grudnia gru prosinec prosince pro desember des"
    ),
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
    (
        "monday mon montag mo lundi lun lunes segunda seg lunedi maandag ma "
        "poniedzialek pon pondeli po mandag man"
    ),
    (
        "tuesday tue tues dienstag di mardi mar martes terca ter martedi "
        "dinsdag wtorek wt utery ut tisdag tis tirsdag tirs tir"
    ),
    (
        "wednesday wed mittwoch mi mercredi mer miercoles mie quarta qua "
        "mercoledi woensdag wo sroda sr streda st onsdag ons"
    ),
    (
        "thursday thu thur thurs donnerstag do jeudi jeu jueves jue quinta qui "
        "giovedi gio donderdag czwartek czw ctvrtek ct torsdag tors tor"
    ),
    (
        "friday fri freitag fr vendredi ven viernes vie sexta sex venerdi "
        "vrijdag vr piatek pt patek pa fredag fre"
    ),
    (
        "saturday sat samstag sonnabend sa samedi sam sabado sab sabato "
        "zaterdag za sobota sob lordag lor"
    ),
    (
        "sunday sun sonntag so dimanche dim domingo dom domenica zondag zo "
        "niedziela niedz nedele ne sondag son"
    ),
)
_WEEKDAYS = {
    name: weekday
    for weekday, names in enumerate(_WEEKDAY_NAMES)
    for name in names.split()
}
_WEEKDAY_BEFORE = re.compile(r"(?P<word>[^\W\d_]{2,12})(?:-feira)?\.?,? (?=\S)")

_NAME = r"(?P<name>[^\W\d_]{3,12})\.?"
# Letters that are no accented ones, to Unicode.
_STRUCK = str.maketrans({"ł": "l", "ø": "o"})
_DAY = r"(?P<day>[0-9]{1,2})"
# Followed by a time of day, if by anything.
_FORMS = (
    (
        rf"{_DAY}(?:st|nd|rd|th|er|[ºª°])?[ /.-]{{0,2}}(?:de |of )?{_NAME}"
        r"[ /.,-]{0,2}(?:del? )?(?P<year>[0-9]{4}|[0-9]{2})(?: ?r\.)?"
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


def weekday_named(word: str) -> int | None:
    """Return the weekday that a word names or is short for, 0 for Monday."""
    return _WEEKDAYS.get(_bare(word.strip().removesuffix("-feira")))


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
    parts = unicodedata.normalize("NFKD", text.casefold().translate(_STRUCK))
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
