"""Rows with more cells than the header has columns: the reason in words, and back."""

import csv
import io
import re
from typing import Final, NamedTuple

# As a reason begins with it, here and in stores that are held.
SURPLUS_PATTERN: Final = r"^(\d+) cells, more than the (\d+) columns of the header"
_SIGNS: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "blank"}


class Parted(NamedTuple):
    """The cells under the header's columns, and the text that stands behind them."""

    cells: list[str]
    surplus: str


def words_of_surplus(cell_count: int, column_count: int, delimiter: str) -> str:
    """Return the reason for which such a row is rejected."""
    sign = _SIGNS.get(delimiter, delimiter)
    return (
        f"{cell_count} cells, more than the {column_count} columns of the header: a "
        f"text with a {sign} in it needs quotes around it"
    )


def part_surplus(line: str, reason: str, delimiter: str) -> Parted | None:
    """Return the parts of a row that was rejected so; None where it is no such row."""
    found = re.match(SURPLUS_PATTERN, reason)
    if found is None:
        return None
    try:
        [cells] = csv.reader(io.StringIO(line, newline=""), delimiter=delimiter)
    except (csv.Error, ValueError):
        return None
    # Else it was not parted as here, and what stands where is not known.
    if len(cells) != int(found[1]):
        return None
    width = int(found[2])
    return Parted(cells[:width], delimiter.join(cells[width:]))
