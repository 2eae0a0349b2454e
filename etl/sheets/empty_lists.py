"""Everything that can be begun empty: a site's log, and the sheets of master data."""

from etl.sheets import empty_log
from etl.sheets.empty_workbook import empty_workbook
from etl.sheets.registry import SHEETS

NAMES = (empty_log.NAME, *(sheet.name for sheet in SHEETS))
KINDS = (".csv", ".xlsx")


def empty_list(name: str, kind: str) -> bytes:
    """Return the file of one of NAMES and one of KINDS."""
    is_text = kind == ".csv"
    if name == empty_log.NAME:
        if is_text:
            return empty_log.empty_log().encode("utf-8")
        return empty_log.empty_log_workbook()
    [sheet] = [one for one in SHEETS if one.name == name]
    return sheet.empty().encode("utf-8") if is_text else empty_workbook(sheet)
