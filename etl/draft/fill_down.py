"""Cells that were merged: their value stands in the first row only."""

from etl.draft.looks import Looks
from etl.draft.placed import Placed
from etl.draft.said import Said

_NEEDED = ("installed_on", "installed_at", "crew_code", "setting_code")
_LEAST_BLANK = 0.2


def fill_down_of(placed: list[Placed], *, is_workbook: bool) -> dict[str, Said[bool]]:
    """Return, by column name, where a value probably holds until the next one.

    In a column that every row needs, blanks below a value are merged cells. Another
    column is taken to be merged with it if it has a value wherever that one has and is
    as blank below. Texts have no merged cells: there it is a question.
    """
    found: dict[str, Said[bool]] = {}
    merged = [
        one for one in placed if one.column.name in _NEEDED and is_gappy(one.looks)
    ]
    for one in merged:
        found[one.column.name] = said_merged(one.looks, is_workbook=is_workbook)
    for one in placed:
        if one.column.name in found or one.column.kind not in ("text", "code"):
            continue
        if one.column.name == "record_id" or not is_gappy(one.looks):
            continue
        if any(_opens_with(one, other) for other in merged):
            reason = "blank below a value, like the column it goes with"
            sureness = found[merged[0].column.name].sureness
            found[one.column.name] = Said(True, sureness, reason)
    return found


def said_merged(looks: Looks, *, is_workbook: bool) -> Said[bool]:
    """Say how sure it is that a gappy column's values hold until the next one."""
    share = f"{looks.blank_share:.0%} of its cells are blank"
    if is_workbook:
        return Said(True, "likely", f"{share}, as of merged cells")
    return Said(True, "guess", f"{share}: do they repeat the value above?")


def is_gappy(looks: Looks) -> bool:
    """Say whether a column may be of merged cells: a value first, and blanks below."""
    cells = looks.cells
    return bool(cells) and bool(cells[0]) and looks.blank_share >= _LEAST_BLANK


def _opens_with(one: Placed, other: Placed) -> bool:
    """Say whether a column has a value in every row in which the other has one."""
    pairs = zip(one.looks.cells, other.looks.cells, strict=True)
    return all(mine for mine, its in pairs if its)
