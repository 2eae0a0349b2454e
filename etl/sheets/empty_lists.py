"""Everything that can be begun empty: a site's log, and the sheets of master data."""

from etl.sheets import empty_log
from etl.sheets.empty_workbook import empty_workbook
from etl.sheets.registry import SHEETS, sheet_named

NAMES = (empty_log.NAME, *(sheet.name for sheet in SHEETS))
KINDS = (".csv", ".xlsx")


def empty_list(name: str, kind: str) -> bytes | None:
    """Return the file of a name and one of KINDS; None where there is no such list."""
    if name == empty_log.NAME:
        if kind == ".csv":
            return empty_log.empty_log().encode("utf-8")
        return empty_log.empty_log_workbook()
    sheet = sheet_named(name)
    if sheet is None:
        return None
    return sheet.empty().encode("utf-8") if kind == ".csv" else empty_workbook(sheet)
