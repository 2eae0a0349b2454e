"""What the names of files and sheets say of a day or a crew, where no column does."""

import re
from collections.abc import Collection, Sequence
from fnmatch import fnmatchcase
from itertools import takewhile

from etl.draft.dates import is_date
from etl.draft.match import name_fit
from etl.draft.words import tokens
from etl.month_names import bare_text, months_named

# What a draft calls these columns, by the canonical one.
CALLED = {"installed_on": "day", "crew_code": "crew"}
_FITS = 0.99
# What fewer letters begin with may be anything.
_FEWEST_LETTERS = 2
# Months by their short forms in some language, and more often something else.
_OTHER_WORDS = {"set", "out", "pro", "led"}
_PARTED = re.compile(r"_+| +- +")
_NUMBERED = re.compile(
    r"(?P<word>\D*[^\W\d])(?:[\W_]*\d+[a-z]?|[\W_]+[a-z])", re.IGNORECASE
)


def kept_in_name(name: str, missing: Collection[str]) -> dict[str, str]:
    """Return the parts of a name that say one of the missing columns, by the column.

    Parts stand between `_` or " - ": a date, or a word for a crew with its number or
    letter.
    """
    found: dict[str, str] = {}
    for part in filter(None, _PARTED.split(name)):
        column = _column_of(part)
        if column and column in missing and column not in found:
            found[column] = part
    return found


def with_braces(name: str, kept: dict[str, str]) -> str:
    """Return the name with each part that is kept as a column named in braces."""
    for column, part in kept.items():
        name = name.replace(part, f"{{{CALLED[column]}}}", 1)
    return name


def kept_in_sheets(names: Sequence[str], missing: Collection[str]) -> str | None:
    """Return the column that each sheet's whole name says; None: not one of them."""
    said = {_column_of(name) for name in names}
    column = said.pop() if len(said) == 1 else None
    return column if column in missing else None


def pattern_of_sheets(names: Sequence[str], others: Sequence[str]) -> str | None:
    """Return the pattern of several sheets' names, as "Wk *", that fits no other's.

    None where their names have too little in common.
    """
    first = _beginning(names).rstrip("0123456789")
    last = _beginning([name[::-1] for name in names])[::-1].lstrip("0123456789")
    letters = sum(map(str.isalpha, first + last))
    pattern = f"{first}*{last}"
    is_plain = len(names) > 1 and not set("*?[{") & set(first + last)
    if letters < _FEWEST_LETTERS or not is_plain:
        return None
    fit_names = all(fnmatchcase(name, pattern) for name in names)
    fit_others = any(fnmatchcase(name, pattern) for name in others)
    return pattern if fit_names and not fit_others else None


def pattern_of_later(name: str) -> str | None:
    """Return a pattern for the files to come, whose names have another month or number.

    As "yard_*.csv" of "yard_nov.csv"; None where it would leave no word of the name.
    """
    packed = ".gz" if name.endswith(".gz") else ""
    stem, dot, suffix = name.removesuffix(packed).rpartition(".")
    parts = re.split(r"([^\W\d_]+|\d+)", stem)
    months = {*months_named(range(1, 13))} - _OTHER_WORDS
    named = [n for n, part in enumerate(parts) if bare_text(part) in months]
    numbered = [n for n, part in enumerate(parts) if part.isdecimal()]
    # Beside a month other numbers but its year may be a hall's.
    years = [n for n in numbered if re.fullmatch(r"20\d\d", parts[n])]
    varying = [*named, *years] if named else numbered[-1:]
    for number in varying:
        parts[number] = "*"
    pattern = re.sub(r"\*[\W_]?\*", "*", "".join(parts))
    letters = sum(map(str.isalpha, pattern))
    is_one = bool(varying) and letters >= _FEWEST_LETTERS
    return f"{pattern}{dot}{suffix}{packed}" if is_one else None


def _beginning(names: Sequence[str]) -> str:
    """Return the signs with which all of the names begin."""
    signs = takewhile(lambda of_all: len(set(of_all)) == 1, zip(*names, strict=False))
    return "".join(sign for sign, *_ in signs)


def _column_of(part: str) -> str | None:
    if is_date(part):
        return "installed_on"
    numbered = _NUMBERED.fullmatch(part.strip())
    if numbered and name_fit(tokens(numbered["word"]), "crew_code") >= _FITS:
        return "crew_code"
    return None
