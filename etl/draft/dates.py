"""Dates and times as sites write them, and the order of their day and month."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from etl.month_names import ENGLISH, weekday_before
from etl.odd_dates import is_named

# A time of day; what else stands about it no format of strptime has.
_CLOCK_PART = (
    r",?[ T]+(?:(?i:um|à|a las|às|alle|ore|om|at|kl\.?|godz\.?|-|–) )?"
    r"\d{1,2} ?[:.h] ?\d{2}(?:[:.]\d{2})?"
    r"(?:\s?[AaPp]\.?\s?[Mm]\.?)?(?: ?(?i:uhr|hrs?|hs|h|uur)\.?)?"
)
_ISO = re.compile(r"\d{4}-\d{2}-(?P<day>\d{2})(?P<time>[T ]\d{1,2}:\d{2}.*)?")
_YEAR_LAST = re.compile(
    r"(?P<a>\d{1,2})(?P<sign> ?[./-] ?)(?P<b>\d{1,2})(?P=sign)(?P<year>\d{4}|\d{2})"
    rf"(?P<time>{_CLOCK_PART})?"
)
_YEAR_FIRST = re.compile(
    r"(?P<year>\d{4})(?P<sign> ?[./] ?)(?P<a>\d{1,2})(?P=sign)(?P<b>\d{1,2})\.?"
    rf"(?P<time>{_CLOCK_PART})?"
)
_MONTH_NAME = re.compile(
    r"\d{1,2}(?P<sign>[ .-])(?P<name>[A-Za-z]{3,9})(?P=sign)(?P<year>\d{4}|\d{2})"
    rf"(?P<time>{_CLOCK_PART})?"
)
# Of another form or language than strptime has: a load reads it all the same.
_MONTH_SAID = re.compile(rf".{{6,40}}?(?P<time>{_CLOCK_PART})?")
# In all of these forms a sign, a blank or a name stands behind a figure.
_MAY_BE_DATE = re.compile(r"\d\W|\d[^\W\d_]{3}")
_TIME = re.compile(
    r"(?:(?:kl|godz)\.? ?)?\d{1,2} ?[:.h] ?\d{2}(?:[:.]\d{2})?(?:\.\d+)?\s*"
    r"(?:[ap]\.?\s?m\.?|(?<=:\d\d)[ap]|uhr|hrs?|hs|h|uur)?\.?",
    re.IGNORECASE,
)
_FOUR_DIGITS_SAID = re.compile(r"\d{4} ?(?:uhr|hrs?|hs|h|uur)\.?", re.IGNORECASE)
_CLOCK = re.compile(
    r"(?P<gap>,?[ T]+)\d{1,2}(?P<sign>[:.h])\d{2}(?:(?P<sign2>[:.])\d{2})?"
    r"(?P<half> ?[ap]m)?",
    re.IGNORECASE,
)
_MIDNIGHT = re.compile(r"[T ]00:00(?::00(?:\.0+)?)?")


@dataclass(frozen=True)
class DateStyle:
    """How the dates of some cells are written.

    `is_iso`: a map need not say it, as of dates with a month's name in any language.
    `date_format` is the strptime format that all of them follow, None for these or
    where they vary. `day_first` is None where nothing shows the order, or both orders
    occur; `question` is then what has to be asked, with the lines of a map that may
    answer it. Words beside the figures (a weekday, Uhr) no format has: the order alone
    reads those.
    """

    is_iso: bool
    date_format: str | None = None
    day_first: bool | None = None
    question: str | None = None
    choices: tuple[str, ...] = ()


def is_date(cell: str) -> bool:
    """Say whether a cell is a date, with a time of day or without."""
    return _match(cell) is not None


def has_time(cell: str) -> bool:
    """Say whether a cell is a date with a time of day.

    Midnight is not one: workbooks write it behind every date.
    """
    found = _match(cell)
    time = found.group("time") if found else None
    return bool(time) and _MIDNIGHT.fullmatch(time or "") is None


def is_time(cell: str) -> bool:
    """Say whether a cell is a time of day alone."""
    text = cell.strip()
    # A figure with a full stop is a time by the word behind it alone, as 7.45 Uhr.
    is_figure = re.fullmatch(r"[\d. ]+", text) is not None
    is_said = _TIME.fullmatch(text) or _FOUR_DIGITS_SAID.fullmatch(text)
    return is_said is not None and not is_figure


def style_of(cells: Iterable[str]) -> DateStyle:
    """Return how dates are written; cells that are none are not counted."""
    given = [cell.strip() for cell in cells]
    found = [(cell, match) for cell in given if (match := _match(cell))]
    style = _style_of([match for _, match in found])
    if not any(_has_words(cell, match) for cell, match in found):
        return style
    if style.day_first is None and style.choices:
        style = replace(style, day_first=_order_by_weekday(found))
    if style.day_first is not None:
        return DateStyle(is_iso=False, day_first=style.day_first)
    if style.date_format is not None:  # The year first, or the month by its name.
        return DateStyle(is_iso=True)
    lines = ("day_first = true", "day_first = false") if style.choices else ()
    return replace(style, choices=lines)


def _has_words(cell: str, match: re.Match[str]) -> bool:
    """Say whether a weekday stands before a date, or a word with its time of day."""
    time = match["time"] if match.re is not _MONTH_SAID else None
    is_formal = not time or _CLOCK.fullmatch(time) is not None
    return match.string != cell or not is_formal


def _order_by_weekday(found: Iterable[tuple[str, re.Match[str]]]) -> bool | None:
    """Return whether the day is first, where only so the weekdays are right."""
    fits = {True: True, False: True}
    for cell, match in found:
        said = weekday_before(cell)
        if said is None or match.re is not _YEAR_LAST:
            continue
        first, second, year = int(match["a"]), int(match["b"]), int(match["year"][-2:])
        for order, day, month in ((True, first, second), (False, second, first)):
            fits[order] &= _is_on(2000 + year, month, day, weekday=said[0])
    return fits[True] if fits[True] != fits[False] else None


def _is_on(year: int, month: int, day: int, *, weekday: int) -> bool:
    try:
        return date(year, month, day).weekday() == weekday
    except ValueError:
        return False


def _style_of(found: list[re.Match[str]]) -> DateStyle:
    written = [match for match in found if match.re not in (_ISO, _MONTH_SAID)]
    if not written:
        return DateStyle(is_iso=True)
    if len(written) < len(found):
        return DateStyle(is_iso=False, question=_mixed(found, written))
    kinds = {match.re for match in written}
    if kinds == {_MONTH_NAME}:
        return _settled(written, {_form(match, day_first=True) for match in written})
    if kinds == {_YEAR_FIRST}:
        return _settled(written, {_form(match, day_first=False) for match in written})
    if kinds != {_YEAR_LAST}:
        return DateStyle(is_iso=False, question="the dates are written in several ways")
    return _ordered(written)


def _mixed(found: list[re.Match[str]], written: list[re.Match[str]]) -> str:
    """Return what to ask of dates of which only some are as ISO 8601 writes them."""
    iso = [match for match in found if match.re is _ISO]
    # Where it takes 4/5 for a date, it leaves 13/5 as the text that was typed.
    is_turned = len(iso) + len(written) == len(found) and all(
        int(match["day"]) <= 12 for match in iso
    )
    if is_turned and all(
        match.re is _YEAR_LAST and int(match["a"]) > 12 for match in written
    ):
        return (
            "days up to the 12th are dates, later ones texts: has a spreadsheet taken "
            "the day for the month?"
        )
    return "some are as ISO 8601 or a spreadsheet has dates, some are written otherwise"


def _ordered(written: list[re.Match[str]]) -> DateStyle:
    """Settle the order of day and month by the days over 12."""
    day_first = any(int(match["a"]) > 12 for match in written)
    month_first = any(int(match["b"]) > 12 for match in written)
    both = tuple(
        f'format = "{form}"'
        for order in (True, False)
        for form in sorted({_form(match, day_first=order) for match in written})
    )
    if day_first == month_first:
        example = written[0].group()
        return DateStyle(
            is_iso=False,
            question="some dates have the day first and some the month"
            if day_first
            else f"dates as {example} may have the day or the month first: no day "
            f"over 12 was seen; {_both_spans(written)}",
            choices=both,
        )
    forms = {_form(match, day_first=day_first) for match in written}
    return _settled(written, forms, day_first=day_first)


def _both_spans(written: list[re.Match[str]]) -> str:
    """Say from when to when the dates run in either order: a site mostly knows."""
    spans = []
    for order, day, month in (("day", "a", "b"), ("month", "b", "a")):
        found = sorted(
            (match["year"][-2:], int(match[month]), int(match[day]))
            for match in written
        )
        ends = ["20{}-{:02}-{:02}".format(*found[place]) for place in (0, -1)]
        spans.append(f"with the {order} first they run from {' to '.join(ends)}")
    return ", ".join(spans)


def _settled(
    written: list[re.Match[str]], forms: set[str], *, day_first: bool | None = None
) -> DateStyle:
    if len(forms) == 1:
        [date_format] = forms
        return DateStyle(is_iso=False, date_format=date_format, day_first=day_first)
    question = None
    if day_first is None:
        question = f"dates are written in {len(forms)} ways, as {written[0].group()}"
    return DateStyle(is_iso=False, day_first=day_first, question=question)


def _form(match: re.Match[str], *, day_first: bool) -> str:
    sign = match["sign"]
    year = "%Y" if len(match["year"]) == 4 else "%y"
    if match.re is _MONTH_NAME:
        name = "%b" if len(match["name"]) == 3 else "%B"
        return sign.join(("%d", name, year)) + _clock_form(match["time"])
    if match.re is _YEAR_FIRST:
        return sign.join((year, "%m", "%d")) + _clock_form(match["time"])
    order = ("%d", "%m") if day_first else ("%m", "%d")
    return sign.join((*order, year)) + _clock_form(match["time"])


def _clock_form(time: str | None) -> str:
    found = _CLOCK.fullmatch(time) if time else None
    if found is None:
        return ""
    seconds = f"{found['sign2']}%S" if found["sign2"] else ""
    clock = f"%M{seconds}"
    if found["half"]:
        space = " " if found["half"].startswith(" ") else ""
        return f"{found['gap']}%I{found['sign']}{clock}{space}%p"
    return f"{found['gap']}%H{found['sign']}{clock}"


# A column's cells are looked at once for each that it may be, and often are alike.
@lru_cache(maxsize=1 << 16)
def _match(cell: str) -> re.Match[str] | None:
    text = cell.strip()
    if not _MAY_BE_DATE.search(text):
        return None  # Most cells are: figures and codes.
    said = weekday_before(text)
    for one in (text, said[1]) if said else (text,):
        for pattern in (_ISO, _YEAR_LAST, _YEAR_FIRST, _MONTH_NAME):
            found = pattern.fullmatch(one)
            if found and _is_possible(found):
                return found
    return _MONTH_SAID.fullmatch(text) if is_named(text) else None


def _is_possible(found: re.Match[str]) -> bool:
    parts = found.groupdict()
    if "name" in parts:
        return parts["name"].lower() in ENGLISH
    if "a" not in parts:
        return True
    first, second = sorted((int(parts["a"]), int(parts["b"])))
    return 1 <= first <= 12 and second <= 31
