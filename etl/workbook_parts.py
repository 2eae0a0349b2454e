"""The sheets of a workbook that a site map takes: each is a log of its own.

Many a site keeps a sheet a day, a week or a crew. Programs take no `*` and no `?` in a
sheet's name, so that these make a pattern of it.
"""

from collections.abc import Iterator
from dataclasses import replace
from fnmatch import fnmatchcase
from pathlib import Path

from etl.draft.layout import sheets_of
from etl.draft.sample import kind_of
from etl.site_map import SiteMap
from queries.errors import FirmsetError

# A sheet a day for a year, and some to spare. Each is parsed in a process of its own.
MAX_SHEETS = 400


def parts_of(path: Path, site_map: SiteMap) -> Iterator[tuple[str, SiteMap]]:
    """Yield what a map takes of a file: how it is named, and the map for it alone.

    Of a workbook of which the map takes several sheets each of them, as " [May]";
    else the file as it is, as "". FirmsetError where no sheet is meant, or too many.
    """
    if not site_map.sheets or kind_of(path) != "workbook":
        yield "", site_map
        return
    names = sheets_of(path)
    taken = [name for name in names if _is_meant(name, site_map.sheets)]
    if not taken:
        raise FirmsetError(
            f"{path}: has no sheet {' or '.join(map(repr, site_map.sheets))}; it has "
            f"{', '.join(names)}"
        )
    if len(taken) > MAX_SHEETS:
        raise FirmsetError(
            f"{path}: {len(taken)} of its sheets are meant by {site_map.path.name}, "
            f"expected at most {MAX_SHEETS}"
        )
    for name in taken:
        yield f" [{name}]", replace(site_map, sheet=name, sheets=())


def _is_meant(name: str, patterns: tuple[str, ...]) -> bool:
    return any(fnmatchcase(name, pattern) for pattern in patterns)
