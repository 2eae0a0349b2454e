"""Numbers and units as sites write them."""

import re
from dataclasses import dataclass, replace
from functools import cache

from etl.draft.words import NUMBER_SIGN, Tokens, fold, tokens, words
from etl.odd_numbers import is_of_an_inch, times_of
from etl.units import FACTORS

_HUMPS = re.compile(r"(?<=[a-z])(?=[A-Z])")
_BRACKETS = re.compile(r"[\[(<{]\s*([^\])>}]*?)\s*[\])>}]")
_FRACTION = re.compile(r"(?:(\d+)[ -]+)?(\d+)/([1-9]\d*)")
# How minutes and seconds are written, behind the name of their column.
_MINUTES = re.compile(
    r"[\[(]?(?<![^\W_])m(?:m|in)?:s(?:s|ec|ek)?(?![^\W_])[\])]?", re.IGNORECASE
)
_NUMBER = re.compile(r"[+-]?(?:\d[\d.,' ]*\d|\d)")


@dataclass(frozen=True)
class Reading:
    """One way to read a header: its words, and the unit it names if any."""

    words: Tokens
    unit: str | None
    is_weak: bool = False


@cache
def header_readings(header: str) -> tuple[Reading, ...]:
    """Return the ways to read a header; the one with a unit, if any, comes first.

    A unit in brackets, or one that is no other word, leaves a single reading.
    """
    if minutes := _MINUTES.search(header):
        outside = header[: minutes.start()] + " " + header[minutes.end() :]
        return (Reading(tokens(outside), "s"),)
    for found in _BRACKETS.finditer(header):
        unit = unit_of(found.group(1))
        if unit:
            outside = header[: found.start()] + " " + header[found.end() :]
            return (Reading(tokens(outside), unit),)
    whole = Reading(tokens(header), None)
    # The sign in N° is no degree.
    numbered = NUMBER_SIGN.sub(" no ", header)
    # A hump is no end of a word in daN.m, but is in torqueNm.
    for spaced in (numbered, _HUMPS.sub(" ", numbered)):
        reading = _with_unit_behind(spaced.replace("_", " ").strip())
        if reading is not None:
            return (reading, whole) if reading.is_weak else (reading,)
    return (whole,)


def _with_unit_behind(header: str) -> Reading | None:
    """Return a header's words without the unit at its end, or None without one."""
    for sign in sorted(words().unit_by_sign, key=len, reverse=True):
        before = header[: -len(sign)]
        if not _ends_with(header, sign) or not before.strip():
            continue
        rest = tokens(re.sub(r"\b(?:in|en|em)\s*$", "", before))
        is_weak = sign in words().weak_signs
        return Reading(rest, words().unit_by_sign[sign], is_weak=is_weak)
    return None


def _ends_with(text: str, sign: str) -> bool:
    before = text[: -len(sign)][-1:]
    return text.lower().endswith(sign) and not (before + sign[0]).isalpha()


def unit_of(text: str) -> str | None:
    """Return the unit that a text is, or None. It may be one firmset cannot read."""
    sign = " ".join(text.strip().lower().rstrip(".").split())
    by_sign = words().unit_by_sign
    return by_sign.get(sign) or by_sign.get(fold(sign))


def is_read(unit: str) -> bool:
    """Say whether a site may log in this unit."""
    return unit in FACTORS


@dataclass(frozen=True)
class Measured:
    """A number in a cell and the unit written behind it, if any."""

    number: float
    unit: str | None
    is_fraction: bool = False


def measured(cell: str, decimal: str) -> Measured | None:
    """Return the number of a cell, or None where it is none.

    Grouped digits are read as a load reads them: groups of three only.
    """
    text = cell.strip()
    times = times_of(text)
    if times is not None:
        return Measured(times, None)
    fraction = _FRACTION.match(text)
    if fraction:
        whole, over, under = fraction.groups()
        if not whole and not is_of_an_inch(int(over), int(under)):
            return None
        number = int(whole or 0) + int(over) / int(under)
        value = _with_unit(number, text, fraction.end())
        return replace(value, is_fraction=True) if value else None
    found = _NUMBER.match(text)
    if found is None:
        return None
    plain = _number(found.group(), decimal)
    return None if plain is None else _with_unit(plain, text, found.end())


def _with_unit(number: float, text: str, end: int) -> Measured | None:
    rest = text[end:].strip()
    unit = unit_of(rest) if rest else None
    return Measured(number, unit) if unit or not rest else None


def _number(text: str, decimal: str) -> float | None:
    group = "." if decimal == "," else ","
    grouped = re.fullmatch(
        rf"[+-]?\d{{1,3}}(?:[{group}' ]\d{{3}})+(?:[{decimal}]\d+)?", text
    )
    if grouped:
        text = re.sub(rf"[{group}' ]", "", text)
    elif not re.fullmatch(rf"[+-]?\d+(?:[{decimal}]\d*)?", text):
        return None
    return float(text.replace(",", "."))


def decimal_sign(cell: str) -> str:
    """Return the sign that can only be a decimal sign in this cell, or "".

    1,5 and 1.234,5 say comma, and so do 0,250 and 1234,567, which are no groups of
    three; 1,234 may be either and says nothing.
    """
    text = cell.strip()
    found = _NUMBER.match(text)
    rest = text[found.end() :].strip() if found else ""
    if found is None or (rest and unit_of(rest) is None):
        return ""
    for sign, group in ((",", "."), (".", ",")):
        parts = re.fullmatch(
            rf"[+-]?(\d+|\d{{1,3}}(?:[{group}]\d{{3}})+)[{sign}](\d+)", found.group()
        )
        if parts is None:
            continue
        whole, decimals = parts.groups()
        is_group = len(decimals) == 3 and len(whole) <= 3 and whole != "0"
        if not is_group:
            return sign
    return ""
