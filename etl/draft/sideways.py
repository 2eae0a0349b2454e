"""Tell a log that lies on its side: an anchor a column, the names below one another."""

from collections.abc import Sequence

from etl.draft.named import KNOWN, best_named, may_be_name
from etl.draft.sample import Rows

# Names stand in one of the first columns; before them may stand a number of the line.
_NAMES_WITHIN = 3
_LOOKED_AT = 80
_LEAST_NAMES = 4
_LEAST_ANCHORS = 3
# Of a form for one anchor, over which no row of names may stand.
_LEAST_OF_FORM = 5
_LEAST_OF_TABLE = 3


def sideways_names(rows: Rows) -> list[str]:
    """Return the column names that stand below one another; [] where none lie so.

    They are more than any row has, and beside each stand several values: a title above
    a table has one, "Crew: 2". A form for one anchor has one beside each name, too, but
    no table below.
    """
    looked_at = rows[:_LOOKED_AT]
    most = max((len(_known(row[:_LOOKED_AT])) for row in looked_at), default=0)
    for place in range(_NAMES_WITHIN):
        lines = [row for row in looked_at if _values(row[place + 1 :])]
        names = _known([row[place] for row in lines])
        if len(names) >= _LEAST_NAMES and len(names) > most:
            return names
    return _names_of_form(looked_at) if most < _LEAST_OF_TABLE else []


def _names_of_form(rows: Rows) -> list[str]:
    for place in range(_NAMES_WITHIN):
        lines = [row for row in rows if any(row[place + 1 : place + 2])]
        names = _known([row[place].rstrip(" :") for row in lines])
        if len(names) >= _LEAST_OF_FORM:
            return names
    return []


def rows_above(rows: Rows) -> Rows:
    """Return the rows above the first that has values of several anchors."""
    of_anchors = (
        number
        for number, row in enumerate(rows[:_LOOKED_AT])
        for place in range(_NAMES_WITHIN)
        if _known(row[place : place + 1]) and _are_of_anchors(row[place + 1 :])
    )
    return rows[: next(of_anchors, 0)]


def _are_of_anchors(cells: Sequence[str]) -> bool:
    """Say whether cells are several values, and none a title, as "Crew:"."""
    titles = (cell for cell in cells if not any(map(str.isdigit, cell)))
    return _values(cells) and not _known([cell.rstrip(":") for cell in titles])


def _values(cells: Sequence[str]) -> bool:
    return sum(map(bool, cells)) >= _LEAST_ANCHORS


def _known(cells: Sequence[str]) -> list[str]:
    """Return the cells that are words for columns, one for each column.

    Values may look like words, as "L2 / C8" of a grid does, but then for one column.
    """
    named: dict[str, str] = {}
    for cell in filter(may_be_name, dict.fromkeys(cells)):
        fit, column = best_named(cell)
        if fit >= KNOWN:
            named.setdefault(column, cell)
    return list(named.values())
