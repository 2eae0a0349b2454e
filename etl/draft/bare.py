"""Cells that a load reads by what the map says beside the column: as it reads them."""

from collections.abc import Callable, Collection, Sequence

from etl.draft.header import Header
from etl.draft.looks import BLANK, Looks
from etl.draft.match import match
from queries.columns import COLUMN_BY_NAME

# Nearly all cells must be read so, under a name that is a column's.
OFTEN = 0.9
_NAMED = 0.75


def read_cells(
    rows: Sequence[list[str]], place: int, read: Callable[[str], str]
) -> list[list[str]]:
    """Return the rows with each cell of a column that is not blank as `read`."""
    return [
        row
        if place >= len(row) or BLANK.fullmatch(row[place])
        else [*row[:place], read(row[place]), *row[place + 1 :]]
        for row in rows
    ]


def is_named(header: Header, place: int, looks: Looks, kinds: Collection[str]) -> bool:
    """Say whether a column is named as one of these kinds, and `looks` like it."""
    return any(
        found.name_fit >= _NAMED and found.value_fit >= OFTEN
        for name in header.spoken(place)
        for column in COLUMN_BY_NAME.values()
        if column.kind in kinds
        for found in [match(name, looks, column, header.unit(place, column))]
    )
