"""The column that leads from a site or crew to its sheet for paper."""

from dataclasses import replace
from typing import Any

from dashboard.address import sheet_href
from dashboard.parts import Cell, Column, Row
from queries.selection import Selection


def sheet_column(kind: str, selection: Selection) -> Column:
    """Return the column with the sheet of each row's "site" or "crew" (`kind`).

    The filters of the page go with it; a sheet has every check.
    """

    def cell(row: Row) -> Cell:
        own: dict[str, Any] = {f"{kind}_codes": (row[kind],), "check_names": ()}
        href = sheet_href(kind, replace(selection, **own))
        return Cell("PDF", href=href)

    return Column("Sheet", cell)
