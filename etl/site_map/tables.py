"""The tables of a site map, and the names that each may hold."""

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Final

from etl.site_map.faults import Faults, key_shown, shown
from queries.columns import COLUMN_BY_NAME

# Of a code or a name, in characters. Common practice, no source.
LONGEST_NAME: Final = 100

# The keys under [sites] are the words of whoever keeps the log.
TABLES: dict[str, tuple[str, ...]] = {
    "site": ("code", "name", "time_zone", "from", "fill_down"),
    "sites": (),
    "files": (
        *("match", "encoding", "delimiter", "decimal", "header_row", "titles"),
        *("not_rows", "as_above", "sheet", "not_sheets", "valid_from", "anchors"),
        *("anchor_count", "sideways", "records"),
    ),
    "listed": ("anchor", "name", "value", "unit", "fill_down"),
    "dates": ("format", "day_first", "year", "first_month", "night_until"),
    "columns": tuple(COLUMN_BY_NAME),
    "codes": tuple(COLUMN_BY_NAME),
}


def check_names(raw: Mapping[str, object], faults: Faults) -> None:
    """Report every table and key that a site map does not know."""
    for name, value in raw.items():
        if name not in TABLES:
            faults.add(
                (name,),
                f"unknown table [{key_shown(name)}], expected {', '.join(TABLES)}",
            )
        elif isinstance(value, dict) and TABLES[name]:
            for key in value:
                if key not in TABLES[name]:
                    faults.add(
                        (name, key),
                        f"[{name}] has no key {shown(key)}, expected "
                        f"{nearest(key, TABLES[name])}",
                    )


def nearest(word: str, known: tuple[str, ...]) -> str:
    """Return the known word that was probably meant, else all of them."""
    close = get_close_matches(word, known, n=1, cutoff=0.75) if len(word) < 60 else []
    return f"{close[0]}, by its likeness" if close else f"one of {', '.join(known)}"


def too_long(name: str) -> str:
    """Return what a fault says of a code or a name over LONGEST_NAME."""
    return f"has {len(name):,} characters, expected at most {LONGEST_NAME}"


class Table:
    """One table of the map. Faults of its values are added to `faults`."""

    def __init__(self, raw: Mapping[str, object], name: str, faults: Faults) -> None:
        self.name = name
        self._faults = faults
        value = raw.get(name, {})
        self.values: dict[str, object] = value if isinstance(value, dict) else {}
        if not isinstance(value, dict):
            faults.add((name,), f"[{name}] = {shown(value)}: expected a table")

    def text(self, key: str, expected: str) -> str:
        """Return a text that is there and not blank, else "" with a fault."""
        value = self.values.get(key)
        if isinstance(value, str) and value.strip():
            return value
        if key in self.values:
            words = f"[{self.name}] {key} = {shown(value)}: expected {expected}"
        else:
            words = f"[{self.name}] lacks {key}: expected {expected}"
        self._faults.add((self.name, key), words)
        return ""

    def name_text(self, key: str, expected: str) -> str:
        """Return such a text that is no longer than a code or a name may be."""
        value = self.text(key, expected)
        if len(value) <= LONGEST_NAME:
            return value
        said = f"[{self.name}] {key} = {shown(value)}"
        self._faults.add((self.name, key), f"{said}: {too_long(value)}")
        return ""

    def yes_or_no(self, key: str) -> bool:
        """Return true or false; false where it is not said, or with a fault."""
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            self._faults.add(
                (self.name, key),
                f"[{self.name}] {key} = {shown(value)}: expected true or false",
            )
        return value is True

    def one_of(self, key: str, allowed: tuple[str, ...], default: str) -> str:
        """Return one of the allowed texts, else the default with a fault."""
        value = self.values.get(key, default)
        if isinstance(value, str) and value in allowed:
            return value
        self._faults.add(
            (self.name, key),
            f"[{self.name}] {key} = {shown(value)}: expected one of "
            f"{', '.join(allowed)}",
        )
        return default
