"""A record's identity where its number alone is none: it counts within something.

Many sites number a day's, a crew's or an area's anchors from 1. Their map says so,
`record_id = {from = "No.", within = ["Date", "Crew"]}`, and the record is known by all
of them: 2026-05-04/C3/17. A day stands there as its date and a crew as the key of its
code (etl/spelling.py), so that another way to write them makes no other record.
"""

from etl.site_map import MappedColumn, SiteMap
from etl.spelling import JOINED_COLUMNS
from etl.staging import StagedFile, filled_down_sql

_DAYS = ("installed_on", "installed_at")
# What stands in a cell is told by the column's value; of others, by the cell.
_TOLD_BY_VALUE = ("text", "code")


def names_within(site_map: SiteMap) -> tuple[str, ...]:
    """Return the canonical columns that tell what the records' numbers count within."""
    return tuple(
        "installed_on" if found.column.name in _DAYS else found.column.name
        for header in site_map.counts_within
        if (found := _column_of(header, site_map)) and _is_told_by_value(found)
    )


def cells_within(staged: StagedFile, site_map: SiteMap) -> dict[str, str]:
    """Return the cells, by a name of their own, that no canonical column tells of.

    Of merged ones what they say in each of their rows, as columns are read.
    """
    filled = site_map.filled_headers
    return {
        f"within_{number}_cell": (
            filled_down_sql(staged.cell_sql(header))
            if header in filled
            else staged.cell_sql(header)
        )
        for number, header in enumerate(site_map.counts_within)
        if not ((found := _column_of(header, site_map)) and _is_told_by_value(found))
    }


def record_id_sql(site_map: SiteMap) -> str:
    """Return the identity, from a row's record_id and what that counts within.

    NULL where one of them is. Columns: those of names_within and cells_within, and of
    a map with night_until dated_on, the date as it is written.
    """
    parts = []
    for number, header in enumerate(site_map.counts_within):
        found = _column_of(header, site_map)
        if found is None or not _is_told_by_value(found):
            parts.append(f"text_cell(trim(within_{number}_cell))")
        elif found.column.name in _DAYS:
            # Of a night that is all of one date numbers count within that date.
            day = "dated_on" if site_map.night_until else "installed_on"
            parts.append(f"{day}::varchar")
        elif found.column.name in JOINED_COLUMNS:
            parts.append(f"code_key({found.column.name})")
        else:
            parts.append(found.column.name)
    return " || '/' || ".join([*parts, "record_id"])


def _column_of(header: str, site_map: SiteMap) -> MappedColumn | None:
    """Return the column, but the record's own, that is read from a header."""
    return next(
        (
            found
            for found in site_map.columns
            if found.header == header and found.column.name != "record_id"
        ),
        None,
    )


def _is_told_by_value(found: MappedColumn) -> bool:
    return found.column.name in _DAYS or found.column.kind in _TOLD_BY_VALUE
